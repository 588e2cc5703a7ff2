// Presses that were made here: each is kept until the service says that it has this very one.
// One key for each in the phone's storage, so that two tabs never overwrite each other's.
import { isKnown, now, offset } from "./clock.js";
import { ask } from "./line.js";

const PREFIX = "noonfare-press-";
const KEPT_MS = 12 * 3_600_000; // what is confirmed still stands for what a saved page lacks
export const queue = { fault: "" }; // why presses wait, as line.js calls it
const memory = new Map(); // where a browser keeps nothing

export function newId() {
  // Not randomUUID: phones on plain http have none.
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

export function all() {
  const found = [...memory.values()];
  for (let k = 0; k < localStorage.length; k += 1) {
    const key = localStorage.key(k);
    if (!key.startsWith(PREFIX)) continue;
    try {
      found.push(JSON.parse(localStorage.getItem(key)));
    } catch {
      localStorage.removeItem(key); // not ours
    }
  }
  return found.sort((a, b) => a.order - b.order);
}

export function waits(press) {
  return press.number === null && !press.refused;
}

function write(press) {
  try {
    localStorage.setItem(press.key, JSON.stringify(press));
  } catch {
    memory.set(press.key, press);
  }
}

export function strike(press) {
  localStorage.removeItem(press.key);
  memory.delete(press.key);
  changed();
}

function changed() {
  document.dispatchEvent(new Event("noonfare:presses"));
}

// Whether this press, known by its id, was made here and not undone since.
function stands(made, id) {
  const last = made.findLast((p) => p.fields.id === id || p.fields.undoes === id);
  return last !== undefined && last.fields.id === id;
}

export function add(path, fields, says) {
  const made = all();
  if (stands(made, fields.id)) return;
  const order = Math.max(0, ...made.map((p) => p.order)) + 1;
  const key = `${PREFIX}${order}-${fields.id}`;
  const at = isKnown() ? now() : null;
  write({ key, order, path, fields, says, at, phoneAt: Date.now(), number: null, refused: "" });
  changed();
  send();
}

// The time of a press by the service's clock; a phone that does not know it yet says its own.
export function pressedAt(press) {
  return press.at ?? press.phoneAt + offset();
}

function form(press) {
  const body = new URLSearchParams(press.fields);
  body.set("at", new Date(pressedAt(press)).toISOString());
  if (press.at === null && !isKnown()) body.set("sent_at", new Date().toISOString());
  return body;
}

async function deliver(press) {
  const headers = { accept: "application/json" };
  const answer = await ask(press.path, { method: "POST", headers, body: form(press) });
  queue.fault = answer.fault;
  if (answer.fault) return false;
  let said = {};
  try {
    said = JSON.parse(answer.text);
  } catch {
    queue.fault = "other";
    return false;
  }
  if (answer.status === 422) {
    const [fault] = said.faults ?? [];
    const text = fault && `${fault.value} ${fault.limit}. ${fault.remedy ?? ""}`.trim();
    write({ ...press, refused: text || said.detail || "It was refused." });
    return true;
  }
  if (said.confirms !== press.fields.id) return false;
  write({ ...press, number: said.number });
  return true;
}

let sending = false;
export async function send() {
  if (sending) return;
  sending = true;
  const stuck = new Set(); // events whose presses wait for the one before them
  try {
    for (;;) {
      const next = all().find((p) => waits(p) && !stuck.has(p.path));
      if (!next) break;
      if (!(await deliver(next))) stuck.add(next.path);
      changed();
      if (queue.fault === "silent") break;
    }
  } finally {
    sending = false;
  }
  for (const press of all()) {
    if (press.number !== null && Math.abs(Date.now() - press.phoneAt) > KEPT_MS) strike(press);
  }
}
