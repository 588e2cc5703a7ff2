// Counts down and looks again. The page is true without it.
const page = document.documentElement.dataset;
const ahead = page.now ? Date.parse(page.now) - Date.now() : 0;

function tick() {
  const left = document.querySelector("[data-due]");
  if (!left) return;
  const minutes = Math.ceil((Date.parse(left.dataset.due) - Date.now() - ahead) / 60000);
  if (minutes <= 0 && !document.querySelector("main.due")) location.reload();
  else if (minutes > 0 && minutes < 100) left.firstChild.data = String(minutes);
}

setInterval(tick, 5000);
if (page.again) {
  setInterval(() => document.hidden || location.reload(), Number(page.again) * 1000);
}
