// What each press would bring, as it comes: the part of the page is fetched and put in anew.
import { ask } from "./line.js";
import { isPressed, replacePart } from "./part.js";

const LOOK_MS = 2_000;
let waiting = null;

async function look() {
  const part = document.getElementById("problems");
  if (!part?.dataset.look) return;
  if (document.hidden || isPressed(part)) return later();
  const answer = await ask(part.dataset.look, { headers: { accept: "text/html" } });
  if (answer.ours && answer.status === 200) {
    const fresh = new DOMParser().parseFromString(answer.text, "text/html");
    replacePart(part, fresh.getElementById("problems"));
  }
  if (answer.status !== 204) later(); // another plan is there: the page shows it soon
}

function later() {
  clearTimeout(waiting);
  waiting = setTimeout(look, LOOK_MS);
}

document.addEventListener("noonfare:shown", later);
look();
