// How many pages each part of the paper takes, and all that are ticked: they are set one by one.
const form = document.querySelector("form[data-pages]");
const ticks = [...form.querySelectorAll("[name=part]")];
const counts = new Map();
const ofPart = (tick) => counts.get(`${tick.value} ${form.elements.paper.value}`);
const pages = (count) => `${count} ${count === 1 ? "page" : "pages"}`;

function show() {
  for (const tick of ticks) {
    const count = ofPart(tick);
    tick.parentElement.querySelector("output").textContent =
      count === undefined ? "" : pages(count);
  }
  const ticked = ticks.filter((tick) => tick.checked).map(ofPart);
  const sum = ticked.reduce((all, count) => all + count, 0);
  document.getElementById("pages-all").textContent = Number.isNaN(sum)
    ? "Counting the pages…"
    : `${pages(sum)} in all. What this day needs is ticked to begin with.`;
}

async function count() {
  const paper = form.elements.paper.value;
  show();
  for (const tick of ticks) {
    if (paper !== form.elements.paper.value) return; // asked for another size meanwhile
    if (ofPart(tick) !== undefined) continue;
    const ask = new URLSearchParams({ paper, part: tick.value });
    try {
      const answer = await fetch(`${form.dataset.pages}?${ask}`);
      if (answer.ok) counts.set(`${tick.value} ${paper}`, (await answer.json())[tick.value]);
    } catch {
      return; // no connection: printed without a count
    }
    show();
  }
}

form.addEventListener("change", (event) => (event.target.name === "paper" ? count() : show()));
count();
