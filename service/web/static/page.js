// On every page: looks again without ever leaving it, queues the diary's forms, says what the line
// is like. Without scripts the page is true when it is opened; with them it stays true.
import { clock, isKnown, now } from "./clock.js";
import { ask, heardNews, letGo } from "./line.js";
import { isPressed, replacePart } from "./part.js";
import { add, newId, send } from "./presses.js";
import { showSignal } from "./signal.js";

const LINES = ["standing", "cloud", "suggestion", "kept-says"]; // they stand above what is typed
const TICK_MS = 1_000;
const LOOK_MS = 30_000;
const SEND_MS = 10_000;
const SLEPT_MS = 5_000; // a tick that comes so late: the phone slept
const DEAD_MS = 30_000; // a stream that says nothing for three beats is dead
const page = document.documentElement.dataset;
let shownAt = page.made ? Date.parse(page.made) : now();
let isBehind = false; // the service has something newer, and it could not be shown yet

// ---- looking again: parts are fetched and swapped, and only answers of ours are shown ----
// Whether somebody has typed what is not sent yet, or is at it.
function isTyping() {
  const fields = document.querySelectorAll("main :is(input:not([type=hidden]), textarea, select)");
  const isChanged = (f) => {
    if (f.matches("[type=checkbox], [type=radio]")) return f.checked !== f.defaultChecked;
    if (!f.matches("select")) return f.value !== f.defaultValue;
    return [...f.options].some(
      (o) => o.selected !== o.defaultSelected && !(o === f.options[0] && o.selected),
    );
  };
  const own = [...fields].filter((f) => !f.closest(".where")); // trouble's place chooses itself
  return own.some((f) => f === document.activeElement || isChanged(f));
}

function isBusy() {
  const isReading =
    CSS.supports("selector(:popover-open)") && document.querySelector(":popover-open");
  const isInView = location.hash && document.querySelector(":target")?.matches(".view");
  return leaving || isPressed(document) || isReading || isInView || isTyping();
}

let fetching = false;
async function refresh() {
  if (fetching || leaving) return;
  fetching = true;
  try {
    const answer = await ask(location.pathname + location.search, {
      headers: { accept: "text/html" },
    });
    if (answer.ours && answer.status === 200) {
      swap(new DOMParser().parseFromString(answer.text, "text/html"));
    }
  } finally {
    fetching = false;
  }
}

function swap(fresh) {
  const newer = fresh.documentElement.dataset;
  for (const id of LINES) {
    replacePart(document.getElementById(id), fresh.getElementById(id)?.cloneNode(true));
  }
  page.again = newer.again ?? "";
  const isPlanned = (newer.revision ?? "") !== (page.revision ?? "");
  if (isPlanned && !newer.revision.endsWith("?")) page.behind = ""; // a line says so, where what is typed keeps the page
  if (isBusy()) return; // asked for again, later
  const isField = document.querySelector("main.jobs, main.station, main.today");
  const hasForms = document.querySelector("main :is(input:not([type=hidden]), textarea, select)");
  if (hasForms && !isField) {
    // A form with new figures beside it is opened anew: the service has just answered.
    if (isPlanned) location.reload();
    page.diary = newer.diary ?? "";
    shownAt = now();
    return;
  }
  show(fresh);
}

function show(fresh) {
  keepFolds();
  const focused = document.activeElement?.id;
  for (const name of Object.keys(page)) delete page[name];
  Object.assign(page, { ...fresh.documentElement.dataset });
  document.title = fresh.title;
  addMissing(fresh);
  document.body.replaceChildren(...fresh.body.childNodes);
  openFolds();
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  shownAt = page.made ? Date.parse(page.made) : now();
  isBehind = false;
  document.dispatchEvent(new Event("noonfare:shown"));
  tick();
}

// What was folded open stays open, also when the page is opened again.
function folds() {
  return [...document.querySelectorAll("main details:not(.job, #signal details)")];
}

// By its words: a fold that comes or goes opens no other.
function foldName(fold) {
  return fold.querySelector("summary")?.textContent.trim().replace(/^\d+ /, "") ?? "";
}

function keepFolds() {
  const open = folds().map((d) => [foldName(d), d.open]);
  sessionStorage.setItem(`noonfare-folds-${location.pathname}`, JSON.stringify(open));
}

function openFolds() {
  const all = folds();
  try {
    const kept = JSON.parse(sessionStorage.getItem(`noonfare-folds-${location.pathname}`) ?? "[]");
    const open = new Set(kept.filter(([, isOpen]) => isOpen).map(([name]) => name));
    for (const fold of all) fold.open ||= open.has(foldName(fold)); // a fault opens its own
  } catch {
    // Another page's: they stay as they are.
  }
}

// Another page may have come at this address (the plan is there): it has sheets and scripts of its
// own. Names are compared, for another release has the same under another address.
function addMissing(fresh) {
  const nameOf = (url) => url.slice(url.lastIndexOf("/") + 1);
  const has = (tag, key, url) =>
    [...document.head.querySelectorAll(tag)].some((e) => nameOf(e[key] ?? "") === nameOf(url));
  for (const link of fresh.head.querySelectorAll("link[rel=stylesheet]")) {
    if (!has("link", "href", link.getAttribute("href"))) document.head.append(link);
  }
  for (const script of fresh.head.querySelectorAll("script[src]")) {
    const src = script.getAttribute("src");
    if (has("script", "src", src)) continue;
    document.head.append(Object.assign(document.createElement("script"), { type: "module", src }));
  }
}

function take(news) {
  isBehind = news.plan !== page.revision || news.diary > Number(page.diary);
  if (isBehind) refresh();
  else shownAt = now();
}

async function look() {
  if (!page.state) return;
  const answer = await ask(`${page.state}&after=${page.diary}`, {
    headers: { accept: "application/json" },
  });
  if (!answer.ours || answer.status !== 200) return;
  try {
    take(JSON.parse(answer.text));
  } catch {
    // Not what we asked for.
  }
}

// My jobs count by themselves; what other pages show moves with the minutes.
function lookAgain() {
  if (document.hidden) return;
  if (document.querySelector("main.jobs")) look();
  else if (page.again) refresh();
}

function keepLooking() {
  setTimeout(
    () => {
      lookAgain();
      keepLooking();
    },
    page.again ? Number(page.again) * 1_000 : LOOK_MS,
  );
}

let stream = null;
let streamAt = Date.now();
function listen() {
  stream?.close();
  stream = new EventSource(page.live);
  streamAt = Date.now();
  const hear = (event) => {
    streamAt = Date.now();
    heardNews();
    take(JSON.parse(event.data));
  };
  stream.addEventListener("news", hear);
  stream.addEventListener("beat", hear);
}

// The phone woke, or the signal may be back: all that waits is tried at once.
function wake() {
  letGo();
  send();
  lookAgain();
}

// ---- presses: every form for the diary, and every sheet, goes through the queue ----
function press(event) {
  const form = event.target;
  const isSheet = form.dataset.queued !== undefined;
  if (form.method !== "post") return;
  if (!isSheet && !new URL(form.action).pathname.endsWith("/diary")) return;
  event.preventDefault();
  const fields = Object.fromEntries([...new FormData(form)].filter(([, value]) => value !== ""));
  const button = event.submitter;
  if (button?.name) fields[button.name] = button.value;
  // Presses about jobs are known by their job; of others each is one of its own.
  const isOfJob = fields.job_id || fields.undoes || fields.kind === "read-changes";
  if (!isOfJob || !fields.id) fields.id = newId();
  const words = fields.note ?? (fields.reading && `${form.dataset.says} ${fields.reading}`);
  const says = words ?? button?.dataset.says ?? form.dataset.says ?? button?.textContent.trim();
  const { back = "", ...rest } = fields;
  add(new URL(form.action).pathname, rest, says);
  for (const field of form.querySelectorAll("[name=note], [name=reading]")) field.value = "";
  if (button) {
    button.disabled = true; // a finger that trembles presses once
    setTimeout(() => {
      button.disabled = false;
    }, 1_500);
  }
  const { hash } = new URL(back, location.href);
  if (hash || location.hash) location.hash = hash.replace(/{kind}|%7Bkind%7D/, fields.kind);
}

// ---- the plan before is shown, as somebody types: the new one at a press; the draft is kept ----
document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-anew]")) location.reload();
});

// ---- a form or a link is on its way: looking again would call it back ----
let leaving = false;
const LEAVES_MS = 15_000; // a link to a file leaves the page where it is
function leave() {
  leaving = true;
  setTimeout(() => {
    leaving = false;
  }, LEAVES_MS);
}
document.addEventListener("click", (event) => {
  const href = event.target.closest?.("a[href]")?.getAttribute("href");
  if (href && !href.startsWith("#") && !href.startsWith("tel:")) leave();
});
addEventListener("pageshow", () => {
  leaving = false;
});

// ---- time goes on ----
let ticked = Date.now();
function tick() {
  if (Math.abs(Date.now() - ticked) > SLEPT_MS) wake();
  ticked = Date.now();
  const head = document.querySelector(".clock");
  if (head?.textContent && isKnown()) {
    const text = clock(now());
    if (head.textContent !== text) head.textContent = text;
  }
  showSignal(shownAt);
}

document.addEventListener("submit", press);
document.addEventListener("submit", (event) => event.defaultPrevented || leave());
document.addEventListener("noonfare:presses", () => showSignal(shownAt));
document.addEventListener("noonfare:line", () => showSignal(shownAt));
document.addEventListener("visibilitychange", () => document.hidden || wake());
addEventListener("online", wake);
addEventListener("pageshow", (event) => event.persisted && wake());
addEventListener("hashchange", () => isBehind && refresh());
addEventListener("pagehide", () => {
  stream?.close();
  keepFolds();
});
setInterval(tick, TICK_MS);
keepLooking();
setInterval(send, SEND_MS);
if ("EventSource" in window) {
  const dead = () => !stream || Date.now() - streamAt > DEAD_MS;
  const mend = () => page.live && !document.hidden && dead() && listen();
  setTimeout(mend, 1_500); // a page that is only looked through opens no line
  setInterval(mend, 5_000);
}
// Only where the address is safe; over plain http the page still counts and keeps its presses.
if ("serviceWorker" in navigator) startWorker().catch(() => {});

async function startWorker() {
  await navigator.serviceWorker.register("/sw.js");
  const { active } = await navigator.serviceWorker.ready;
  if (!navigator.serviceWorker.controller) active.postMessage("keep");
}
openFolds();
document
  .querySelector(".under [aria-current]")
  ?.scrollIntoView({ block: "nearest", inline: "center" });
look();
send();
tick();
