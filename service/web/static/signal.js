// What the line is like, how old what is seen is, and which presses wait: in plain words.
import { clock, now } from "./clock.js";
import { line } from "./line.js";
import { all, pressedAt, queue, strike, waits } from "./presses.js";

const SILENT_MS = 60_000; // beats come every ten seconds, looks every thirty
const OLD_MIN = 30; // a plan that old may be another by now
const GOING =
  "They go by themselves when the signal is back. Each counts once. Keep this page open.";
const GRAVE = ["hurt", "fire", "need-help"]; // as text/trouble.py has it
const FAULTS = {
  other: "This network asks for something first: open another web page and agree.",
  ended: "This link opens nothing any more: ask for a new one.",
  busy: "The service is busy.",
};

const page = document.documentElement.dataset;

// Whether this page keeps asking the service: only then is silence a sign.
function asks() {
  return Boolean(page.live || page.again || page.saved || document.querySelector("main.jobs"));
}

function minutes(ms) {
  const min = Math.floor(ms / 60_000);
  return min < 100 ? `${min} min` : `${Math.round(min / 60)} hours`;
}

function lineWords(silentMs, waiting) {
  const fault = (waiting && queue.fault) || line.fault;
  if (FAULTS[fault]) return FAULTS[fault];
  if (asks() && silentMs > SILENT_MS) return `No signal for ${minutes(silentMs)}.`;
  return waiting && fault ? "No signal." : "";
}

function pressWords(waiting, sure) {
  const many = waiting === 1 ? "1 press" : `${waiting} presses`;
  if (!waiting) return "";
  return sure ? `Sending ${many}.` : `${many} ${waiting === 1 ? "waits" : "wait"}.`;
}

function element(tag, text, more = {}) {
  return Object.assign(document.createElement(tag), { textContent: text, ...more });
}

function row(press) {
  const item = element("li", "");
  item.append(element("time", clock(pressedAt(press))), element("span", press.says));
  if (press.refused) {
    const button = element("button", "Strike it out", { type: "button" });
    button.addEventListener("click", () => strike(press));
    item.append(element("b", `Refused: ${press.refused}`), button);
  }
  return item;
}

let isOpen = false; // the list stays open when the page is swapped
function section() {
  const made = element("section", "", { id: "signal", hidden: true });
  made.setAttribute("aria-label", "Signal");
  made.innerHTML =
    '<details><summary><svg viewBox="0 0 32 32" aria-hidden="true"><use href="#i-no-signal"/></svg>' +
    '<span role="status"><b></b> <span></span></span></summary><ul></ul><p></p></details>';
  const list = made.querySelector("details");
  list.open = isOpen;
  list.addEventListener("toggle", () => {
    if (list.isConnected) isOpen = list.open;
  });
  return made;
}

function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

// `shownAt` is when the service last said that what is shown is what there is.
export function showSignal(shownAt) {
  const main = document.querySelector("main");
  if (!main) return;
  let box = document.getElementById("signal");
  if (!box) {
    box = section();
    main.prepend(box);
  }
  const said = all().filter((p) => p.says);
  const waiting = said.filter(waits);
  const refused = said.filter((p) => p.refused);
  const silentMs = now() - line.heardAt;
  const words = lineWords(silentMs, waiting.length);
  const oldMin = Math.floor((now() - shownAt) / 60_000);
  const isUntold = waiting.some((p) => GRAVE.includes(p.fields.kind));
  const rest = [
    isUntold ? "Nobody has been told yet: call, or shout." : "",
    words && silentMs > SILENT_MS ? `This is from ${clock(shownAt)}.` : "",
    pressWords(waiting.length, !words),
    refused.length ? `${refused.length} refused: look here.` : "",
    words && oldMin >= OLD_MIN ? `It is ${minutes(now() - shownAt)} old: ask before you load.` : "",
  ];
  put(box.querySelector("b"), words);
  put(box.querySelector("[role=status] > span"), rest.filter(Boolean).join(" "));
  const listed = [...refused, ...waiting];
  const key = listed.map((p) => p.key + p.refused).join();
  const list = box.querySelector("ul");
  if (list.dataset.key !== key) {
    list.dataset.key = key;
    list.replaceChildren(...listed.map(row));
  }
  put(box.querySelector("p"), waiting.length ? GOING : "");
  box.classList.toggle("untold", isUntold);
  box.hidden = !words && !listed.length;
}
