// Counts down, looks again, keeps presses while there is no signal. The page is true without it.
const page = document.documentElement.dataset;
let jobs = document.querySelector("main.jobs");
const ahead = page.now ? Date.parse(page.now) - Date.now() : 0;
const KEY = "noonfare-presses";

// Sound only after a tap: phones allow no other, and nobody is startled.
const SOUND = "noonfare-sound";
let speaker = null;
function beep() {
  navigator.vibrate?.([200, 100, 200]);
  if (!speaker) return;
  for (const n of [0, 1, 2]) {
    const tone = speaker.createOscillator();
    tone.frequency.value = 880;
    tone.connect(speaker.destination);
    tone.start(speaker.currentTime + n * 0.4);
    tone.stop(speaker.currentTime + n * 0.4 + 0.2);
  }
}
function wake() {
  if (localStorage.getItem(SOUND)) speaker ??= new AudioContext();
}
function sound() {
  const row = document.getElementById("sound");
  if (!row || !("AudioContext" in window)) return;
  row.hidden = false;
  const button = row.querySelector("button");
  const show = () => {
    button.textContent = localStorage.getItem(SOUND) ? "Sound is on" : "Sound when it is due";
  };
  button.addEventListener("click", () => {
    if (localStorage.getItem(SOUND)) localStorage.removeItem(SOUND);
    else localStorage.setItem(SOUND, "on");
    show();
    wake();
    if (localStorage.getItem(SOUND)) beep();
  });
  document.addEventListener("click", wake, { once: true });
  show();
}

function tick() {
  const left = document.querySelector("[data-due]");
  if (!left) return;
  const minutes = Math.ceil((Date.parse(left.dataset.due) - Date.now() - ahead) / 60000);
  if (minutes <= 0) {
    if (left.firstChild.data !== "Now") beep();
    left.firstChild.data = "Now";
    jobs?.classList.add("due");
    left.querySelector("small")?.remove();
  } else if (minutes < 100) left.firstChild.data = String(minutes);
}

function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEY)) || [];
  } catch {
    return [];
  }
}

function say(words) {
  const line = document.getElementById("signal");
  if (!line) return;
  line.hidden = !words;
  line.textContent = words;
}

function newId() {
  // Not randomUUID: phones on plain http have none.
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) =>
    b.toString(16).padStart(2, "0"),
  ).join("");
}

function keep(path, entry) {
  localStorage.setItem(KEY, JSON.stringify([...kept(), { path, entry }]));
}

let sending = false;
async function send() {
  if (sending) return;
  sending = true;
  let shown = 0;
  try {
    for (let next = kept()[0]; next; next = kept()[0]) {
      const answer = await fetch(next.path, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ ...next.entry, sent_at: new Date().toISOString() }),
      });
      if (answer.status >= 500) break;
      // Taken, or refused for good: either way it is not sent again. The id makes twice once.
      const rest = kept().filter((other) => other.entry.id !== next.entry.id);
      localStorage.setItem(KEY, JSON.stringify(rest));
      if (next.entry.kind !== "seen") shown += 1;
    }
  } catch {
    // No signal: they stay.
  }
  sending = false;
  const left = kept().filter((other) => other.entry.kind !== "seen").length;
  say(
    left
      ? `No signal. ${left} ${left === 1 ? "press" : "presses"} kept; sent when it is back.`
      : "",
  );
  if (shown && !left) fresh();
}

function press(event) {
  const form = event.target;
  if (!form.matches("form[data-queue]")) return;
  event.preventDefault();
  const told = new FormData(form, event.submitter);
  const names = ["plan", "helper_id", "cooker_id", "placement_id", "job_id", "note"];
  const entry = {
    id: newId(),
    kind: told.get("kind"),
    at: new Date(Date.now() + ahead).toISOString(),
  };
  for (const name of names) if (told.get(name)) entry[name] = told.get(name);
  keep(`/api${new URL(form.action).pathname.replace("/e/", "/events/")}`, entry);
  for (const button of form.querySelectorAll("button")) button.disabled = true;
  say("Written down.");
  send();
}

function seen() {
  if (!jobs?.dataset.plan) return;
  const key = `noonfare-seen-${jobs.dataset.event}-${jobs.dataset.helper}`;
  if (localStorage.getItem(key) === jobs.dataset.plan) return;
  localStorage.setItem(key, jobs.dataset.plan);
  const at = new Date(Date.now() + ahead).toISOString();
  const entry = {
    id: newId(),
    kind: "seen",
    at,
    plan: jobs.dataset.plan,
    helper_id: jobs.dataset.helper,
  };
  keep(`/api/events/${jobs.dataset.event}/diary`, entry);
}

document.addEventListener("submit", press);
addEventListener("online", send);
document.addEventListener("visibilitychange", () => document.hidden || send());
setInterval(tick, 5000);
tick();
seen();
send();
// A form or a link is on its way: looking again would call it back.
let leaving = false;
const LEAVES_MS = 15000; // a link to a file leaves the page where it is
function leave() {
  leaving = true;
  setTimeout(() => {
    leaving = false;
  }, LEAVES_MS);
}
document.addEventListener("submit", (event) => event.defaultPrevented || leave());
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href]");
  if (link && !link.getAttribute("href").startsWith("#")) leave();
});
addEventListener("pageshow", () => {
  leaving = false;
});

// Looking again swaps parts of the page for newer ones: nothing goes away under a finger.
const sheetsOf = (root) =>
  [...root.querySelectorAll("link[rel=stylesheet]")].map((l) => l.href).join();
let looking = false;
async function fresh() {
  // Nobody loses what they are typing, nor a press that waits.
  if (leaving || looking || kept().length) return false;
  looking = true;
  let swapped = false;
  try {
    const answer = await fetch(location.href, { headers: { accept: "text/html" } });
    const newer = new DOMParser().parseFromString(await answer.text(), "text/html");
    swapped = !leaving && answer.ok && swap(newer, answer.redirected);
  } catch {
    // No signal: what is there stays.
  }
  looking = false;
  return swapped;
}

// Whether somebody has typed what is not sent yet, or is at it.
function typing() {
  const fields = document.querySelectorAll("main :is(input:not([type=hidden]), textarea, select)");
  const changed = (f) =>
    f.matches("select")
      ? [...f.options].some(
          (o) => o.selected !== o.defaultSelected && !(o === f.options[0] && o.selected),
        )
      : f.value !== f.defaultValue || f.checked !== f.defaultChecked;
  return [...fields].some((f) => f === document.activeElement || changed(f));
}

function swap(newer, moved) {
  const reading =
    CSS.supports("selector(:popover-open)") && document.querySelector(":popover-open");
  const main = document.querySelector("main");
  const next = newer.querySelector("main");
  const forms = document.querySelector("main :is(input:not([type=hidden]), textarea, select)");
  const { revision = "", again = "" } = newer.documentElement.dataset;
  const planned = revision !== (page.revision ?? "");
  const standing = document.getElementById("standing");
  const line = newer.getElementById("standing");
  if (standing && line) standing.replaceWith(line);
  page.again = again;
  if (reading || typing()) return false; // asked for again, later
  if (moved || !main || !next || sheetsOf(document) !== sheetsOf(newer) || (forms && planned)) {
    location.reload(); // another page has come in its place, or a form has new figures beside it
    return false;
  }
  page.revision = revision;
  if (forms) return true;
  keepFolds();
  main.replaceWith(next);
  openFolds();
  jobs = document.querySelector("main.jobs");
  sound();
  tick();
  seen();
  return true;
}

// What was folded open stays open when the page looks again.
const FOLDS = `noonfare-folds-${location.pathname}`;
function openFolds() {
  const folds = [...document.querySelectorAll("main details")];
  try {
    for (const [n, open] of JSON.parse(sessionStorage.getItem(FOLDS) ?? "[]").entries()) {
      if (folds[n]) folds[n].open = open;
    }
  } catch {
    // Another page's: they stay as they are.
  }
}
function keepFolds() {
  const folds = [...document.querySelectorAll("main details")];
  sessionStorage.setItem(FOLDS, JSON.stringify(folds.map((d) => d.open)));
}
openFolds();
addEventListener("pagehide", keepFolds);

let line = null;
let heard = Date.now();
let diary = null;
function listen() {
  line?.close();
  line = new EventSource(page.live);
  heard = Date.now();
  const take = (event) => {
    heard = Date.now();
    const news = JSON.parse(event.data);
    if (diary === null) diary = news.diary;
    if (news.plan === page.revision && news.diary === diary) return;
    fresh().then((swapped) => {
      if (swapped) diary = news.diary;
    });
  };
  line.addEventListener("news", take);
  line.addEventListener("beat", take);
}
if (page.live && "EventSource" in window) {
  setTimeout(listen, 1500); // a page that is only looked through opens no line
  // A line that says nothing for three beats is dead, whatever the phone thinks.
  setInterval(() => line && Date.now() - heard > 30000 && navigator.onLine && listen(), 5000);
  addEventListener("pagehide", () => line?.close());
}
let lookedAt = Date.now();
setInterval(() => {
  if (!page.again || Date.now() - lookedAt < Number(page.again) * 1000) return;
  lookedAt = Date.now();
  if (!document.hidden && navigator.onLine) fresh();
}, 1000);
// Only where the address is safe; over plain http the page still counts and keeps its presses.
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
sound();
if (jobs) {
  const awake = () => navigator.wakeLock?.request("screen").catch(() => {});
  document.addEventListener("click", awake, { once: true });
}
