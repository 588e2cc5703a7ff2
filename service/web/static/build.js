// The builder's page: what a slider says, and the answer anew while it is moved.
const form = document.getElementById("design");
form.querySelector("button").hidden = true;

let waiting = null;
let asking = null;
async function ask() {
  asking?.abort();
  asking = new AbortController();
  const address = `/build?${new URLSearchParams(new FormData(form))}`;
  try {
    const answer = await fetch(address, { signal: asking.signal });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of ["figures", "answer"]) {
      document.getElementById(id).innerHTML = page.getElementById(id).innerHTML;
    }
    history.replaceState(null, "", address);
  } catch {
    // No connection, or moved on: the figures stay those of the last answer.
  }
}
form.addEventListener("input", (event) => {
  const said = event.target.closest("label").querySelector(".said");
  if (said) said.textContent = event.target.value;
  clearTimeout(waiting);
  waiting = setTimeout(ask, 120);
});
form.addEventListener("submit", (event) => {
  event.preventDefault();
  ask();
});
