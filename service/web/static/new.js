// The first page: places as they are typed, counts by a press, what the menu comes to.
const form = document.querySelector("form.first");
const where = form.elements.where;
const POUND_KG = 0.45359237;
const TAKES_MS = 700; // of silence before the cookers are asked
const DAY_MS = 86_400_000;
const MUCH_KG = 1.5; // of food a head: about twice what people eat; common practice

// ---- nothing moves under a finger: what is answered meanwhile is shown once it is up ----
const TAP_MS = 100; // from a finger that is up to its click
let isDown = false;
const late = [];
function whenStill(show) {
  if (isDown) late.push(show);
  else show();
}
function letGo() {
  isDown = false;
  for (const show of late.splice(0)) show();
}
addEventListener("pointerdown", () => {
  isDown = true;
});
for (const end of ["pointerup", "pointercancel"])
  addEventListener(end, () => setTimeout(letGo, TAP_MS));

// ---- where ----
const places = document.getElementById("places");
const year = document.getElementById("year");
let asked = null;
let waiting = null;
async function look() {
  asked?.abort();
  asked = new AbortController();
  if (!where.value.trim()) {
    year.replaceChildren();
    return places.replaceChildren();
  }
  const ask = new URLSearchParams({
    where: where.value,
    date: form.elements.date.value,
    units: form.elements.units.value,
  });
  try {
    const answer = await fetch(`/places?${ask}`, { signal: asked.signal });
    if (!answer.ok) return;
    const found = await answer.text();
    whenStill(() => showPlaces(found));
  } catch {
    // No connection, or typed on: the place is read when the form is sent.
  }
}
function showPlaces(found) {
  places.innerHTML = found;
  showYear();
  const units = places.querySelector("[data-units]")?.dataset.units;
  if (units) showUnits(units);
  showClocks(units === "us");
  total();
}
// What is typed takes the place of what stood there; a further press sets the caret.
let isEntered = false;
where.addEventListener("focus", () => {
  isEntered = true;
  where.select();
});
where.addEventListener("click", () => {
  if (isEntered) where.select();
  isEntered = false;
});
where.addEventListener("input", () => {
  isEntered = false;
  clearTimeout(waiting);
  waiting = setTimeout(look, 120);
});
for (const name of ["date", "units"]) form.elements[name].addEventListener("change", look);
places.addEventListener("click", (event) => {
  const chosen = event.target.closest("[data-place]");
  if (!chosen) return;
  where.value = chosen.dataset.place;
  where.dispatchEvent(new Event("input", { bubbles: true }));
  where.focus();
});

// A height that was typed keeps the unit that it was typed in.
function showUnits(units) {
  const height = form.elements.altitude;
  const isBare = /^\s*[\d.,]+\s*$/.test(height.value);
  if (isBare && units !== form.dataset.units)
    height.value = `${height.value.trim()} ${form.dataset.units === "us" ? "ft" : "m"}`;
  form.dataset.units = units;
}

// ---- when: by the clock that is usual there; a field that somebody types in is let alone ----
const CLOCKS = ["meal", "until", "crewfrom", "crewuntil", "visitorsfrom", "visitorsuntil"];
function showClocks(byTwelve) {
  for (const field of CLOCKS.map((name) => form.elements[name])) {
    const [, hour, minute, half] = /^(\d{1,2}):(\d\d)(?: ([ap])m)?$/.exec(field.value) ?? [];
    if (field === document.activeElement || !hour || Boolean(half) === byTwelve) continue;
    const at = half ? (Number(hour) % 12) + (half === "p" ? 12 : 0) : Number(hour);
    field.value = byTwelve
      ? `${at % 12 || 12}:${minute} ${at < 12 ? "am" : "pm"}`
      : `${String(at).padStart(2, "0")}:${minute}`;
  }
}

// ---- when: the year's months at that place ----
function showYear() {
  const held = document.activeElement?.dataset.date && document.activeElement.closest("li");
  const at = held ? [...held.parentElement.children].indexOf(held) : -1;
  const months = places.querySelector("#months");
  const wasOpen = year.querySelector(".fold")?.open;
  if (months && wasOpen) months.querySelector(".fold").open = true;
  year.replaceChildren(...(months ? [months] : []));
  if (at >= 0) year.querySelectorAll("button")[at]?.focus({ preventScroll: true });
}
year.addEventListener("click", (event) => {
  const month = event.target.closest("[data-date]");
  if (!month) return;
  form.elements.date.value = month.dataset.date;
  form.elements.date.dispatchEvent(new Event("input", { bubbles: true }));
  look();
});

// ---- forecast: none reaches so far ----
const far = document.getElementById("sky-far");
function showFar() {
  const days = (Date.parse(form.elements.date.value) - Date.parse(far.dataset.today)) / DAY_MS;
  far.hidden = !(days > Number(far.dataset.reach));
  far.textContent = `${Math.round(days / 7)} weeks off: a forecast counts from about two weeks before. Leave this empty.`;
}

// ---- counts: by their buttons, or by the arrow keys in the field ----
const BY_KEY = { ArrowUp: 1, ArrowDown: -1 };
function addTo(input, more) {
  input.value = String(Math.max(0, (Number(input.value || input.placeholder) || 0) + more));
  input.dispatchEvent(new Event("input", { bubbles: true }));
}
for (const button of form.querySelectorAll("[data-add]")) {
  const input = button.parentElement.querySelector("input");
  button.hidden = false;
  button.addEventListener("click", () => addTo(input, Number(button.dataset.add)));
}
for (const input of form.querySelectorAll(".stepper input")) {
  input.addEventListener("keydown", (event) => {
    if (!BY_KEY[event.key]) return;
    event.preventDefault();
    addTo(input, BY_KEY[event.key]);
  });
}
// ---- pots: an empty field means the guess that stands in it, by the cookers and dishes ----
const pots = [...form.querySelectorAll("[name^='pot.']")];
const counts = [...form.querySelectorAll("[name^='count.']")];
async function guessPots() {
  const guess = JSON.parse(await answerTo("/new/pots"));
  if (!guess) return;
  for (const pot of pots) pot.placeholder = String(guess[pot.name.slice("pot.".length)]);
  whenStill(sumPots);
}
function sumPots() {
  const all = pots.reduce((sum, pot) => sum + number(pot.value || pot.placeholder), 0);
  const isGuess = pots.some((pot) => !pot.value && number(pot.placeholder));
  say("fold-pots", `${all} in all${isGuess ? ", guessed by your cookers and dishes" : ""}`);
}

// ---- a menu to start from, in one press ----
for (const button of form.querySelectorAll("[data-menu]")) {
  button.parentElement.hidden = false;
  button.addEventListener("click", () => {
    const dishes = button.dataset.menu.split(" ");
    for (const tick of form.querySelectorAll("[name=dish]"))
      tick.checked = dishes.includes(tick.value);
    button.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

// ---- on a phone: what comes next opens by itself, once, and below what is being filled in ----
const NEXT = {
  meal: ["hours"],
  people: ["mains"],
  mains: ["sides", "sweet"],
  sides: ["sweet", "drinks"],
  sweet: ["drinks", "cookers"],
  drinks: ["cookers"],
  menu: ["cookers"],
  helpers: ["sky"],
};
const opened = new Set();
const untouched = new Set(); // they opened by themselves, and nobody has pressed or typed there
function openNext(target) {
  untouched.delete(target.closest(".entry")?.querySelector(".fold"));
  const at = target.dataset.menu ? "menu" : target.closest("[data-course]")?.dataset.course;
  for (const next of NEXT[at ?? target.name] ?? []) {
    if (next === "sky" && !far.hidden) continue; // no forecast reaches so far
    const part = document.getElementById(`fold-${next}`).closest("details");
    if (!opened.has(next) && !part.open) untouched.add(part);
    if (!opened.has(next)) part.open = true;
    opened.add(next);
  }
}
// Whoever presses such a part wants it open: it is not closed in their face.
form.addEventListener("click", (event) => {
  const head = event.target.closest(".fold summary");
  if (!head || !untouched.delete(head.parentElement) || !head.parentElement.open) return;
  event.preventDefault();
  head.scrollIntoView();
});

// ---- what it comes to ----
function number(text) {
  return Number(String(text).replace(",", ".")) || 0;
}
function weight(kg) {
  if (form.dataset.units !== "us")
    return kg < 0.95 ? `${Math.round(kg * 1000)} g` : `${kg.toFixed(1)} kg`;
  const pounds = kg / POUND_KG;
  return pounds < 0.95 ? `${(pounds * 16).toFixed(0)} oz` : `${pounds.toFixed(1)} lb`;
}
function course(section, people) {
  const perHead = number(section.querySelector("[name^='heads.']").value);
  const rows = [...section.querySelectorAll(".ticks li")];
  const isNone = (row) => row.querySelector(".portions input").value.trim() === "0"; // left out
  const isTicked = (row) => row.querySelector("[type=checkbox]").checked;
  const ticked = rows.filter((row) => isTicked(row) && !isNone(row));
  const shared = Math.ceil(((people * perHead) / ticked.length).toFixed(6));
  let portions = 0;
  let kg = 0;
  for (const row of rows) {
    row.classList.toggle("on", isTicked(row));
    const own = number(row.querySelector(".portions input").value);
    const count = ticked.includes(row) ? own || shared : 0;
    const mass = count * number(row.querySelector("[type=checkbox]").dataset.kg);
    row.querySelector(".portions input").placeholder = String(shared);
    row.querySelector(".portions span").textContent = count ? weight(mass) : "left out";
    portions += count;
    kg += mass;
  }
  const sum = portions ? `${portions} portions, ${weight(kg)}` : "";
  section.querySelector("output").textContent = sum;
  const names = ticked.map((row) => row.querySelector(".food").textContent).join(", ");
  say(`fold-${section.dataset.course}`, names ? `${names}: ${sum}` : "none");
  return { portions, kg };
}
function total() {
  const people = Math.max(0, Math.floor(number(form.elements.people.value)));
  let food = 0;
  let drinks = 0;
  let portions = 0;
  for (const section of form.querySelectorAll("[data-course]")) {
    const one = course(section, people);
    portions += one.portions;
    if (section.dataset.course === "drinks") drinks = one.kg;
    else food += one.kg;
  }
  const head = (text) => (people ? `, ${text} a head` : "");
  say("sum-food", weight(food) + head(weight(food / people)));
  say("sum-drinks", weight(drinks) + head(weight(drinks / people)));
  document.getElementById("sum-drinks").parentElement.hidden = !drinks;
  say("sum-all", `${portions} portions, ${weight(food + drinks)}`);
  const counted = counts.filter((c) => number(c.value) > 0);
  const nameOf = (c) => c.closest("li").querySelector("b").textContent;
  say("fold-cookers", counted.map((c) => `${c.value} × ${nameOf(c)}`).join(", ") || "none");
  sumPots();
  const hours = (who) =>
    `${form.elements[`${who}from`].value} to ${form.elements[`${who}until`].value}`;
  const visitors = form.elements.visitorsfrom.value ? `; visitors ${hours("visitors")}` : "";
  say("fold-hours", `${hours("crew")}${visitors}`);
  showFar();
  say(
    "fold-sky",
    form.elements.sky.value || (far.hidden ? "none: a clear sky" : "none so far ahead"),
  );
  clearTimeout(takesWaiting);
  takesWaiting = setTimeout(askBeside, TAKES_MS);
  const much = document.getElementById("sum-much");
  much.hidden = !people || food / people <= MUCH_KG;
  much.textContent = `That is over ${weight(MUCH_KG)} of food for each person. Is it meant?`;
}
let takesWaiting = null;
let takesAsked = null;
function askBeside() {
  takesAsked?.abort();
  takesAsked = new AbortController();
  guessPots();
  showTakes();
}
async function showTakes() {
  const takes = await answerTo("/new/takes");
  if (takes === null) return;
  whenStill(() => {
    const line = document.getElementById("sum-takes");
    line.hidden = !takes;
    line.textContent = takes;
  });
}
// Return what the service says of the form as it stands; null where nothing came.
async function answerTo(path) {
  try {
    const body = new URLSearchParams(new FormData(form));
    const answer = await fetch(path, { method: "POST", body, signal: takesAsked.signal });
    return answer.ok ? await answer.text() : null;
  } catch {
    return null; // no connection, or typed on: the plan will say it
  }
}
function say(id, text) {
  document.getElementById(id).textContent = text;
}
form.addEventListener("input", (event) => {
  openNext(event.target);
  total();
});
look();
total();
