// Puts a fresh part of a page in the place of an old one: never under a pressed finger, and what had
// the focus has it again; what was folded open stays open.
export function isPressed(part) {
  return part.querySelector(":is(a, button, summary, label):active") !== null;
}

export function replacePart(part, fresh) {
  if (!part?.isConnected || !fresh || isPressed(part)) return;
  const folds = (of) => [...of.querySelectorAll("details")];
  const wereOpen = folds(part).map((fold) => fold.open);
  folds(fresh).forEach((fold, n) => {
    fold.open = wereOpen[n] ?? fold.open;
  });
  const presses = (of) => [...of.querySelectorAll("button, summary")];
  const at = presses(part).indexOf(document.activeElement);
  const held = presses(part)[at];
  part.replaceWith(fresh);
  if (at < 0) return;
  const same = presses(fresh).find(
    (b) => held.value && b.name === held.name && b.value === held.value,
  );
  (same ?? presses(fresh)[at])?.focus({ preventScroll: true });
}
