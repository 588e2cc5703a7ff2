// Keeps what is typed until it is kept by the service, and asks what would come of it.
const page = location.pathname;

// Other forms come and go above it, as a plan gets ready.
function keyOf(form) {
  const drafts = [...document.querySelectorAll("form[data-draft]")];
  return `noonfare-draft-${page}-${drafts.indexOf(form)}`;
}

function fields(form) {
  return [...form.elements].filter((f) => f.name && f.type !== "hidden" && f.type !== "submit");
}

// What was typed into a folded row and is not saved yet is seen at once.
function unfold(field) {
  const row = field.closest(".more, .entry");
  const head = row?.matches(".more") ? row.previousElementSibling : row;
  const fold = head?.querySelector(".fold");
  if (fold) fold.open = true;
  for (let d = field.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
}

// Return whether anything came back that is not as the page has it.
function restore(form) {
  let kept = null;
  try {
    kept = JSON.parse(localStorage.getItem(keyOf(form)));
  } catch {
    return false;
  }
  const etag = form.elements.etag?.value ?? "";
  if (!kept || kept.etag !== etag) return false;
  let isChanged = false;
  for (const f of fields(form)) {
    const id = f.type === "checkbox" ? `${f.name}=${f.value}` : f.name;
    if (!(id in kept.values)) continue;
    const isNew = kept.values[id] !== (f.type === "checkbox" ? f.checked : f.value);
    if (f.type === "checkbox") f.checked = kept.values[id];
    else f.value = kept.values[id];
    if (isNew) unfold(f);
    isChanged ||= isNew;
  }
  return isChanged;
}

// A form that opens as it was left can be had as it comes.
function offerAfresh(form) {
  const afresh = document.getElementById("afresh");
  if (!afresh) return;
  afresh.hidden = false;
  afresh.querySelector("button").addEventListener("click", () => {
    localStorage.removeItem(keyOf(form));
    location.assign(page);
  });
}

function remember(form) {
  const values = {};
  for (const f of fields(form)) {
    if (f.type === "checkbox") values[`${f.name}=${f.value}`] = f.checked;
    else values[f.name] = f.value;
  }
  localStorage.setItem(
    keyOf(form),
    JSON.stringify({ etag: form.elements.etag?.value ?? "", values }),
  );
}

let waiting = null;
let asking = null;
async function ask(form) {
  asking?.abort();
  asking = new AbortController();
  const into = form.querySelector(".trying");
  try {
    const answer = await fetch(form.dataset.try, {
      method: "POST",
      body: new FormData(form),
      signal: asking.signal,
    });
    if (answer.ok && into) into.innerHTML = await answer.text();
  } catch {
    // No connection, or typed on: what is typed stays where it is.
  }
}

for (const form of document.querySelectorAll("form[data-draft]")) {
  if (restore(form)) offerAfresh(form);
  form.addEventListener("input", (event) => {
    remember(form);
    const row = event.target.name.split(".")[0];
    if (form.elements.picked && form.elements[`${row}.id`]) form.elements.picked.value = row;
    if (!form.dataset.try) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => ask(form), 60);
  });
  form.addEventListener("submit", () => sessionStorage.setItem("noonfare-sent", keyOf(form)));
}
// A page that came back without faults has been kept: the draft has done its work.
const sent = sessionStorage.getItem("noonfare-sent");
if (sent && !document.querySelector(".err-sum, .order")) localStorage.removeItem(sent);
sessionStorage.removeItem("noonfare-sent");

// ---- rows to add: two to begin with, more at a press, and none that somebody typed in is hidden ----
const ROWS_FIRST = 2;
const isEmpty = (f) =>
  f.type === "checkbox"
    ? f.checked === f.defaultChecked
    : f.matches("select")
      ? f.selectedIndex <= 0 || f.options[f.selectedIndex].defaultSelected
      : f.value === f.defaultValue;
for (const more of document.querySelectorAll("[data-more]")) {
  const rows = [...more.closest("details").querySelectorAll("fieldset.short")];
  const isTyped = (row) =>
    row.querySelector("[aria-invalid]") ||
    row.querySelector("[name$='.name']").value ||
    ![...row.querySelectorAll("input, select, textarea")].every(isEmpty);
  const last = rows.findLastIndex(isTyped);
  for (const row of rows.slice(Math.max(ROWS_FIRST, last + 1))) row.hidden = true;
  const show = () => {
    more.hidden = !rows.some((row) => row.hidden);
  };
  more.addEventListener("click", () => {
    const next = rows.find((row) => row.hidden);
    next.hidden = false;
    next.querySelector("input, select").focus();
    show();
  });
  show();
}

const here = document.getElementById("here");
if (here && "geolocation" in navigator && window.isSecureContext) {
  here.hidden = false;
  here.addEventListener("click", () =>
    navigator.geolocation.getCurrentPosition((p) => {
      here.form.elements.where.value = `${p.coords.latitude.toFixed(4)}, ${p.coords.longitude.toFixed(4)}`;
      remember(here.form);
    }),
  );
}
