// What time it is at the service: the phone's clock, and bounds of how far it is off.
// Each fresh answer of ours narrows them: its stamp lies between asking and hearing. They are kept,
// so that a phone without a signal, or with a saved page, still knows the time.
const KEY = "noonfare-clock";
const DRIFT = 1e-4; // by so much a phone's clock gains or loses, at most
const JITTER_MS = 250; // what stamps and clocks are rounded to
let bounds = null; // service minus phone in ms, and when it was learnt: {low, high, at}
try {
  bounds = JSON.parse(localStorage.getItem(KEY));
} catch {
  // Nothing is kept: it is learnt anew.
}

export function isKnown() {
  return bounds !== null;
}

export function offset() {
  return bounds ? (bounds.low + bounds.high) / 2 : 0;
}

export function now() {
  return Date.now() + offset();
}

export function learn(stamp, asked, heard) {
  const fresh = { low: stamp - heard, high: stamp - asked, at: heard };
  const slack = bounds ? Math.abs(heard - bounds.at) * DRIFT + JITTER_MS : 0;
  const low = bounds ? Math.max(fresh.low, bounds.low - slack) : fresh.low;
  const high = bounds ? Math.min(fresh.high, bounds.high + slack) : fresh.high;
  // Bounds that do not meet: the phone's clock was set meanwhile, what is fresh counts.
  bounds = low <= high ? { low, high, at: heard } : fresh;
  try {
    localStorage.setItem(KEY, JSON.stringify(bounds));
  } catch {
    // It is known as long as the page is open.
  }
}

// A time of day as the event says it: 14:05, or 2:05 pm.
export function clock(at) {
  const { zone, hours } = document.documentElement.dataset;
  const parts = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone };
  const text = new Intl.DateTimeFormat("en-GB", parts).format(at);
  if (hours !== "12") return text;
  const [hour, minute] = text.split(":");
  return `${Number(hour) % 12 || 12}:${minute} ${Number(hour) < 12 ? "am" : "pm"}`;
}
