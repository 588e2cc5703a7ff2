// Hands links on: by the device's own share sheet, by copying, on paper. The page is whole without.
async function copied(text) {
  if (navigator.clipboard && window.isSecureContext) return navigator.clipboard.writeText(text);
  const area = document.createElement("textarea"); // plain http: no clipboard, but a selection
  area.value = text;
  document.body.append(area);
  area.select();
  const done = document.execCommand("copy");
  area.remove();
  if (!done) throw new Error("not copied");
}
function textOf(button) {
  const from = button.dataset.copyFrom ?? button.dataset.shareFrom;
  return from ? document.getElementById(from).value : (button.dataset.copy ?? button.dataset.share);
}
function canCopy(button) {
  button.hidden = false;
  const words = button.textContent;
  button.addEventListener("click", async () => {
    try {
      await copied(textOf(button));
      button.textContent = "Copied";
    } catch {
      button.textContent = "Select it and copy";
    }
    setTimeout(() => {
      button.textContent = words;
    }, 2000);
  });
}
function canShare(button) {
  button.hidden = false;
  button.addEventListener("click", () => navigator.share({ text: textOf(button) }).catch(() => {}));
}
// Again whenever the page is shown anew: its buttons are new ones then.
function prepare() {
  for (const b of document.querySelectorAll("[data-copy], [data-copy-from]")) canCopy(b);
  if (navigator.share) {
    for (const b of document.querySelectorAll("[data-share], [data-share-from]")) canShare(b);
  }
  const print = document.getElementById("print");
  if (print) {
    print.hidden = false;
    print.addEventListener("click", () => window.print());
  }
}
prepare();
document.addEventListener("noonfare:shown", prepare);
