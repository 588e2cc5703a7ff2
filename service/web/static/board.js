// The board turns its pages by itself and asks for news. Without it the board is one list that scrolls.
const TURN_MS = 12000;
const ASK_MS = 20000;
const OLD_MS = 60000;
const ROWS_MOST = 5;
let shown = 0;
let freshAt = Date.now();

const board = () => document.querySelector("main.showboard");

// As many rows to a page as the screen has room for; the code for phones has a page of its own.
function pagesOf(main) {
  const menu = main.querySelector(".menu");
  const how = [...main.querySelectorAll(".how li")];
  const longest = Math.max(...how.map((line) => line.textContent.length));
  for (const line of how) line.hidden = line.textContent.length < longest;
  const rows = [...menu.children];
  for (const row of rows) row.hidden = false;
  main.classList.toggle("paged", !matchMedia("(max-width: 560px)").matches);
  if (!main.classList.contains("paged")) return [rows];
  main.querySelector(".pageturn").hidden = false;
  const room = menu.clientHeight;
  const heights = rows.map((row) => row.getBoundingClientRect().height);
  const pages = [];
  let left = 0;
  rows.forEach((row, k) => {
    const alone = row.classList.contains("own");
    const last = pages.at(-1);
    if (!last || alone || last.length === ROWS_MOST || heights[k] > left) {
      pages.push([row]);
      left = room - heights[k];
    } else {
      last.push(row);
      left -= heights[k];
    }
  });
  return pages;
}

function show() {
  const main = board();
  const pages = pagesOf(main);
  shown %= pages.length;
  pages.forEach((page, k) => {
    for (const row of page) row.hidden = k !== shown;
  });
  const how = [...main.querySelectorAll(".how li")];
  how.forEach((line, k) => {
    line.hidden = main.classList.contains("paged") && k !== shown % how.length;
  });
  const dots = main.querySelector(".pageturn");
  dots.hidden = pages.length < 2;
  dots.setAttribute("aria-label", `Page ${shown + 1} of ${pages.length}. Turn the page`);
  dots.replaceChildren(
    ...pages.map((_, k) => {
      const dot = document.createElement("i");
      dot.classList.toggle("here", k === shown);
      return dot;
    }),
  );
}

let turning = 0;
function turn() {
  shown += 1;
  show();
  clearInterval(turning);
  turning = setInterval(turn, TURN_MS);
}

// Only an answer of our own that is newer than what is shown counts as news.
async function ask() {
  try {
    const answer = await fetch(location.href, {
      cache: "no-store",
      signal: AbortSignal.timeout(ASK_MS / 2),
    });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("main.showboard");
    const old = board();
    if (!answer.ok || !fresh) throw new Error("not our board");
    if (!(Date.parse(fresh.dataset.now) > Date.parse(old.dataset.now))) throw new Error("saved");
    old.replaceWith(fresh);
    freshAt = Date.now();
    show();
  } catch {
    if (Date.now() - freshAt < OLD_MS) return;
    const clock = board().querySelector(".nowc");
    if (!clock) return;
    clock.classList.add("old");
    clock.querySelector("small").textContent = "no news since";
  }
}

document.addEventListener("click", (event) => {
  if (event.target.closest(".pageturn")) turn();
});
document.fonts.ready.then(show);
addEventListener("resize", show);
turning = setInterval(turn, TURN_MS);
setInterval(ask, ASK_MS);
show();
