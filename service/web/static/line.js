// The line to the service: asks it, knows its answers from those of networks on the way.
import { learn, now } from "./clock.js";

const PATIENCE_MS = 45_000; // a slow line takes half a minute
const STALE_MS = 5_000; // an answer that is out for longer is asked anew when the signal is back
const page = document.documentElement.dataset;

// When the service was last heard, and what is wrong with the line: "", silent, other, busy, ended.
export const line = { heardAt: page.saved ? Date.parse(page.made) : now(), fault: "" };
const out = new Map(); // what is asked and not answered: how to stop it, since when

export async function ask(url, options = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  const asked = Date.now();
  out.set(stop, asked);
  try {
    const answer = await fetch(url, {
      cache: "no-store",
      redirect: "manual",
      signal: stop.signal,
      ...options,
    });
    const stamp = Date.parse(answer.headers.get("noonfare-now") ?? "");
    const ours = !Number.isNaN(stamp);
    if (ours) learn(stamp, asked, Date.now());
    const text = await answer.text();
    return heard({ ours, status: answer.status, text });
  } catch {
    return heard({ ours: false, status: 0, text: "" });
  } finally {
    clearTimeout(timer);
    out.delete(stop);
  }
}

function heard(answer) {
  if (answer.ours) line.heardAt = now();
  line.fault = faultOf(answer);
  document.dispatchEvent(new Event("noonfare:line"));
  return { ...answer, fault: line.fault };
}

function faultOf({ ours, status }) {
  if (!ours) return status === 0 ? "silent" : "other";
  if ([401, 403, 404].includes(status)) return "ended";
  return status === 200 || status === 422 ? "" : "busy";
}

// News by the event stream: the service has been heard.
export function heardNews() {
  line.heardAt = now();
  if (line.fault !== "ended") line.fault = "";
  document.dispatchEvent(new Event("noonfare:line"));
}

// The signal may be back: what hangs in the air is let go, and asked anew by who asked.
export function letGo() {
  for (const [stop, asked] of out) if (Date.now() - asked > STALE_MS) stop.abort();
}
