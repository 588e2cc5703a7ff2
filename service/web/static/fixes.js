// What each press would bring, as it comes. The part is put in anew, but never under a pressed finger.
import { ask } from "./line.js";

const LOOK_MS = 2_000;
let waiting = null;

async function look() {
  const part = document.getElementById("problems");
  if (!part?.dataset.look) return;
  const isPressed = part.querySelector(":active") !== null;
  if (document.hidden || isPressed) return later();
  const answer = await ask(part.dataset.look, { headers: { accept: "text/html" } });
  if (answer.ours && answer.status === 200) put(part, answer.text);
  if (answer.status !== 204) later(); // another plan is there: the page shows it soon
}

function put(part, text) {
  if (!part.isConnected || part.querySelector(":active")) return;
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("problems");
  if (!fresh) return;
  const buttons = (of) => [...of.querySelectorAll("button")];
  const at = buttons(part).indexOf(document.activeElement);
  const held = buttons(part)[at];
  part.replaceWith(fresh);
  if (at < 0) return;
  const same = buttons(fresh).find((b) => b.name === held.name && b.value === held.value);
  (same ?? buttons(fresh)[at])?.focus({ preventScroll: true });
}

function later() {
  clearTimeout(waiting);
  waiting = setTimeout(look, LOOK_MS);
}

document.addEventListener("noonfare:shown", later);
look();
