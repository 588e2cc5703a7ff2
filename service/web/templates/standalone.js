// The next thing to do and how long until then, by the phone's own clock: standalone.html carries it within.
const box = document.getElementById("next");
const rows = [...document.querySelectorAll("li[data-at]")];
const DAY_MS = 86400000;
let shown = null;

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
  const words = (part) => next.querySelector(part)?.textContent ?? "";
  const left = until(Date.parse(next.dataset.at) - now);
  if (shown === next) {
    box.querySelector("b").textContent = left;
    return;
  }
  shown = next;
  box.replaceChildren(
    element("b", left),
    element("span", `${words("time")} ${words(".do")}`),
    element("div", words(".how")),
    ...[...next.querySelectorAll(".w, .turn")]
      .filter((part) => !part.parentElement.closest(".turn"))
      .map((part) => part.cloneNode(true)),
  );
  for (const turn of box.querySelectorAll(".turn")) turn.open = true;
}

// A page that was made long ago says so.
function age() {
  const made = document.getElementById("made");
  const hours = Math.floor((Date.now() - Date.parse(made.dataset.made)) / 3600000);
  if (hours < 1) return;
  const long = hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
  made.querySelector("b")?.remove();
  made.prepend(element("b", `Made ${long} ago. `));
}

tick();
age();
setInterval(tick, 5000);
setInterval(age, 60000);
