// The next thing to do and how long until then, by the phone's own clock: standalone.html carries it within.
const box = document.getElementById("next");
const rows = [...document.querySelectorAll("li[data-at]")];
const DAY_MS = 86400000;

function until(ms) {
  const minutes = Math.ceil(ms / 60000);
  if (minutes <= 0) return "Now";
  if (ms > DAY_MS) return `${Math.round(ms / DAY_MS)} days`;
  return minutes < 100 ? `${minutes} min` : `${Math.round(minutes / 60)} h`;
}

function element(name, text) {
  const made = document.createElement(name);
  made.textContent = text;
  return made;
}

function tick() {
  const now = Date.now();
  const next = rows.find((row) => Date.parse(row.dataset.end) > now);
  for (const row of rows) {
    row.classList.toggle("past", Date.parse(row.dataset.end) <= now);
    row.classList.toggle("now", row === next);
  }
  box.hidden = false;
  if (!next) {
    box.textContent = "Nothing more to do. Drink water.";
    return;
  }
  const words = (part) => next.querySelector(part).textContent;
  box.replaceChildren(
    element("b", until(Date.parse(next.dataset.at) - now)),
    element("span", `${words("time")} ${words(".do")}`),
    element("div", words(".how")),
  );
  const caution = next.querySelector(".w");
  if (caution) box.append(caution.cloneNode(true));
}

tick();
setInterval(tick, 5000);
