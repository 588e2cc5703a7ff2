// My jobs: which one is now, how long until it, what was pressed here and not yet shown by the
// service. The page holds all jobs of the helper, so that all of it works without a signal.
import { clock, isKnown, now } from "./clock.js";
import { add, all, pressedAt } from "./presses.js";
import { remind, setUpBell } from "./reminders.js";

const MISSED_MS = 15 * 60_000; // as job_views.MISSED_AFTER
const UNDO_MS = 10 * 60_000; // as jobs.UNDONE_WITHIN
const NO_JOB = ["seen", "undo", "read-changes"];
const page = document.documentElement.dataset;
let served = new Map(); // what the service says of each press: its id's base, its entry, if any

function put(node, text) {
  if (node && node.textContent !== text) node.textContent = text;
}

function baseOf(id) {
  return id.slice(0, id.lastIndexOf("-"));
}

// What was pressed on this phone and is newer than the page.
function overlay() {
  const path = `/e/${document.querySelector("main.jobs").dataset.event}/diary`;
  const isNewer = (p) => p.number === null || p.number > Number(page.diary);
  return all().filter((p) => p.path === path && !p.refused && isNewer(p));
}

function readServed() {
  served = new Map();
  for (const element of document.querySelectorAll("[data-press]")) {
    const undo = element.querySelector("form.undo:not(.last)");
    served.set(element, {
      base: baseOf(element.dataset.press),
      number: Number(element.dataset.press.slice(element.dataset.press.lastIndexOf("-") + 1)),
      done: element.dataset.done === undefined ? null : { id: undo?.elements.undoes.value, at: "" },
    });
  }
}

// The same undo may come from two phones: it counts by which press it takes back.
function afterUndo({ done, number }, base, undone) {
  const next = baseOf(undone) === base ? Number(undone.slice(base.length + 1)) + 1 : number;
  return { done: done?.id === undone ? null : done, number: Math.max(number, next) };
}

// The press as it stands: what the service says, then what was pressed here since.
function stateOf(element, made) {
  const { base, number, done } = served.get(element);
  let state = { done, number };
  for (const { fields, ...press } of made) {
    const about = fields.undoes ?? fields.id;
    if (baseOf(about) !== base && about !== done?.id) continue;
    if (fields.kind === "undo") state = afterUndo(state, base, about);
    else state = { ...state, done: { id: fields.id, at: clock(pressedAt(press)) } };
  }
  return { ...state, base };
}

function showPress(element, made) {
  const state = stateOf(element, made);
  element.toggleAttribute("data-done", state.done !== null);
  const form = element.querySelector("form:not(.undo)");
  if (form) form.elements.id.value = `${state.base}-${state.number}`;
  const undo = element.matches("li") && element.querySelector("form.undo");
  if (undo && state.done) {
    undo.elements.undoes.value = state.done.id;
    undo.elements.id.value = `${state.done.id}-u`;
    if (state.done.at) put(undo.querySelector("time"), state.done.at);
  }
  return state.done !== null;
}

function countdown(job, at) {
  const minutes = Math.ceil((Date.parse(job.dataset.at) - at) / 60_000);
  if (minutes <= 0) return ["Now", ""];
  if (minutes < 100) return [String(minutes), "min"];
  const hours = minutes / 60;
  return hours < 48 ? [hours.toFixed(0), "hours"] : [(hours / 24).toFixed(0), "days"];
}

function showTime(job, at, today) {
  const [number, unit] = countdown(job, at);
  put(job.querySelector(".left span"), number);
  put(job.querySelector(".left small"), unit);
  const late = Math.floor((at - Date.parse(job.dataset.ends)) / 60_000);
  const isDue = number === "Now";
  job.classList.toggle("due", isDue);
  job.classList.toggle("late", today && late > 0);
  if (today)
    put(job.querySelector(".at small"), late > 0 ? `${late} min late` : isDue ? "due" : "at");
}

function fill(id, jobs) {
  const box = document.getElementById(id);
  const same = jobs.length === box.children.length && jobs.every((j, n) => box.children[n] === j);
  if (same) return false;
  box.replaceChildren(...jobs);
  const part = box.closest("section");
  if (part) part.hidden = !jobs.length;
  return true;
}

function showUndo(main, made, at) {
  const form = main.querySelector("form.undo.last");
  const own = made.filter((p) => !NO_JOB.includes(p.fields.kind));
  const undone = new Set(made.map((p) => p.fields.undoes));
  const last = own.findLast((p) => !undone.has(p.fields.id) && at - pressedAt(p) < UNDO_MS);
  if (last) {
    put(form.querySelector("b"), last.says);
    put(form.querySelector("time"), clock(pressedAt(last)));
    form.elements.undoes.value = last.fields.id;
    form.elements.id.value = `${last.fields.id}-u`;
  }
  const { value } = form.elements.undoes;
  form.hidden =
    value === "none" || undone.has(value) || (!last && at - Date.parse(page.made) > UNDO_MS);
}

let shown = null; // the job that is now
function showJobs() {
  const main = document.querySelector("main.jobs");
  if (!main || !isKnown()) return;
  const at = now();
  const made = overlay();
  const today = at >= Date.parse(main.dataset.from) && at < Date.parse(main.dataset.to);
  main.classList.toggle("today", today);
  for (const element of served.keys()) showPress(element, made);
  const jobs = [...main.querySelectorAll("details.job")].sort((a, b) => a.dataset.n - b.dataset.n);
  const parts = { now: [], later: [], missed: [], pressed: [] };
  for (const job of jobs) {
    showTime(job, at, today);
    const presses = job.dataset.press ? [job] : [...job.querySelectorAll("[data-press]")];
    const done = presses.length > 0 && presses.every((p) => p.dataset.done !== undefined);
    if (done) parts.pressed.push(job);
    else if (at >= Date.parse(job.dataset.ends) + MISSED_MS) parts.missed.push(job);
    else if (parts.now.length) parts.later.push(job);
    else parts.now.push(job);
    const [next] = presses.filter((p) => p.dataset.done === undefined);
    for (const press of presses) press.classList.toggle("cur", press === next);
  }
  place(parts);
  document.getElementById("rest").hidden = parts.now.length > 0;
  showUndo(main, made, at);
  for (const stay of main.querySelectorAll(".stay")) {
    stay.hidden = !today || at < Date.parse(stay.dataset.at) || at >= Date.parse(stay.dataset.ends);
  }
  if (today) remind([...parts.now, ...parts.later], at);
}

function place(parts) {
  const [current = null] = parts.now;
  for (const job of document.querySelectorAll("details.job")) {
    const isNow = job === current;
    if (isNow) job.open = true;
    else if (job.classList.contains("current")) job.open = false;
    job.classList.toggle("current", isNow);
  }
  for (const [id, jobs] of Object.entries(parts)) fill(id, jobs);
  if (shown !== null && current?.id !== shown && !location.hash) scrollTo(0, 0);
  shown = current?.id ?? "";
}

function sawPlan() {
  const { seen, plan, helper, event } = document.querySelector("main.jobs").dataset;
  if (!seen || !plan) return;
  add(`/e/${event}/diary`, { id: seen, kind: "seen", plan, helper_id: helper }, "");
}

function chooseCooker() {
  const link = document.querySelector(".current .cur .press, .current > .bar .press");
  const id = link?.dataset.cooker ?? "";
  const choice = document.querySelector(`.where input[value="${CSS.escape(id)}"]`);
  if (location.hash === "#trouble" && choice) choice.checked = true;
}

function begin() {
  if (!document.querySelector("main.jobs")) return;
  readServed();
  setUpBell();
  sawPlan();
  showJobs();
}

document.addEventListener("noonfare:shown", begin);
document.addEventListener("noonfare:presses", showJobs);
document.addEventListener("noonfare:line", showJobs);
addEventListener("hashchange", chooseCooker);
setInterval(showJobs, 1_000);
begin();
