// A judge's sheets: what waits on this phone stands at its number, and the next one opens.
import { all, waits } from "./presses.js";

function show() {
  const made = all().filter((p) => p.path === location.pathname && p.fields.number);
  for (const sheet of document.querySelectorAll("main details[data-number]")) {
    const last = made.findLast((p) => p.fields.number === sheet.dataset.number);
    if (!last || sheet.dataset.shown === last.key + last.number + last.refused) continue;
    sheet.dataset.shown = last.key + last.number + last.refused;
    const words = waits(last) ? "waits on this phone" : "is there";
    sheet.querySelector("summary span").textContent = last.refused || words;
    if (last.refused) continue;
    sheet.dataset.there = "";
    sheet.open = false;
  }
}

function openNext() {
  const sheets = [...document.querySelectorAll("main details[data-number]")];
  if (sheets.some((sheet) => sheet.open)) return;
  const next = sheets.find((sheet) => sheet.dataset.there === undefined);
  if (next) next.open = true;
}

function follow() {
  show();
  openNext();
}

document.addEventListener("noonfare:presses", follow);
document.addEventListener("noonfare:shown", follow);
follow();
