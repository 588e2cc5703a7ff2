// Reminders: a beep, a buzz and, where allowed, a note at the due time and five minutes before, and
// a screen that stays on. They ring while the page is open; the switch says what is on.
const KEY = "noonfare-reminders";
const SOON_MS = 5 * 60_000;
const TONES = { soon: [660, 660], due: [880, 880, 880], alert: [990, 660, 990, 660] };
let speaker = null;
let lock = null;
let rung = null; // jobs that have rung, with what for; what is due when the page opens is seen anyway

function isOn() {
  return localStorage.getItem(KEY) === "on";
}

function beep(kind) {
  navigator.vibrate?.(TONES[kind].flatMap(() => [250, 150]));
  if (speaker?.state !== "running") return;
  for (const [n, frequency] of TONES[kind].entries()) {
    const tone = speaker.createOscillator();
    const volume = speaker.createGain();
    tone.type = "square"; // it is heard beside wind and people
    tone.frequency.value = frequency;
    volume.gain.value = 0.5;
    tone.connect(volume).connect(speaker.destination);
    tone.start(speaker.currentTime + n * 0.4);
    tone.stop(speaker.currentTime + n * 0.4 + 0.25);
  }
}

// A page's own notes are not allowed on phones: the worker shows them.
async function note(title, body, tag) {
  if (!("Notification" in window) || Notification.permission !== "granted") return;
  const worker = await navigator.serviceWorker?.getRegistration();
  const data = location.pathname;
  worker?.showNotification(title, { body, tag, data, renotify: true, icon: "/static/mark.svg" });
}

function ring(kind, title, body, tag) {
  beep(kind);
  if (document.hidden) note(title, body, tag).catch(() => {});
  document.dispatchEvent(new CustomEvent("noonfare:rang", { detail: { kind, tag } }));
}

// `jobs` are those still to be done. Each rings once five minutes before, and once when it is due.
export function remind(jobs, at) {
  const ringing = [];
  for (const job of jobs) {
    const left = Date.parse(job.dataset.at) - at;
    const kind = left <= 0 ? "due" : left <= SOON_MS ? "soon" : "";
    if (kind) ringing.push({ kind, job, key: `${job.id} ${job.dataset.at} ${kind}` });
  }
  const alerts = [...document.querySelectorAll(".alert")].map((a) => a.textContent.trim());
  const first = rung === null;
  rung ??= new Set();
  for (const { kind, job, key } of ringing) {
    if (rung.has(key)) continue;
    rung.add(key);
    const words = job.querySelector("summary").textContent.replace(/\s+/g, " ").trim();
    if (!first && isOn()) ring(kind, kind === "due" ? "Now" : "In five minutes", words, job.id);
  }
  for (const text of alerts) {
    if (rung.has(text)) continue;
    rung.add(text);
    if (!first && isOn()) ring("alert", "Noonfare", text, "alert");
  }
}

async function keepAwake() {
  if (!isOn() || document.hidden || !("wakeLock" in navigator) || (lock && !lock.released)) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", show);
  } catch {
    lock = null; // a flat battery: the switch says that the screen goes off
  }
  show();
}

// Sound only after a tap: phones allow no other, and nobody is startled.
function wakeSpeaker() {
  if (!isOn() || !("AudioContext" in window)) return;
  if (!speaker) {
    speaker = new AudioContext();
    speaker.addEventListener("statechange", show);
  }
  if (speaker.state !== "running") speaker.resume().catch(() => {});
}

function parts() {
  const hasNotes = "Notification" in window && Notification.permission === "granted";
  return [
    speaker?.state === "running" && "sound",
    "vibrate" in navigator && "buzz",
    hasNotes && "notes",
    lock && !lock.released && "screen on",
  ].filter(Boolean);
}

function show() {
  const bell = document.getElementById("bell");
  if (!bell) return;
  bell.hidden = false;
  bell.setAttribute("aria-pressed", String(isOn()));
  const on = parts();
  const quiet = "AudioContext" in window && speaker?.state !== "running";
  if (quiet) on.push("tap for sound");
  const text = isOn() ? `Reminders on: ${on.join(", ")}` : "Reminders are off. Tap to turn them on";
  const label = bell.querySelector("span");
  if (label.textContent !== text) label.textContent = text;
}

async function toggle() {
  const quiet = isOn() && speaker?.state !== "running" && "AudioContext" in window;
  if (isOn() && !quiet) {
    localStorage.removeItem(KEY);
    lock?.release();
  } else {
    localStorage.setItem(KEY, "on");
    wakeSpeaker();
    await speaker?.resume().catch(() => {});
    beep("soon"); // this is what it sounds like
    if ("Notification" in window && Notification.permission === "default") {
      Notification.requestPermission().then(show, show);
    }
    keepAwake();
  }
  show();
}

export function setUpBell() {
  show();
}

document.addEventListener("click", (event) => {
  if (event.target.closest("#bell")) toggle();
  else wakeSpeaker();
});
document.addEventListener("visibilitychange", () => {
  keepAwake();
  if (!document.hidden) speaker?.resume().catch(() => {});
});
keepAwake();
