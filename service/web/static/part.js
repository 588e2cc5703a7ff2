// Puts a fresh part of a page in the place of an old one: never under a pressed finger, and what had
// the focus has it again.
export function isPressed(part) {
  return part.querySelector(":is(a, button, summary, label):active") !== null;
}

export function replacePart(part, fresh) {
  if (!part?.isConnected || !fresh || isPressed(part)) return;
  const buttons = (of) => [...of.querySelectorAll("button")];
  const at = buttons(part).indexOf(document.activeElement);
  const held = buttons(part)[at];
  part.replaceWith(fresh);
  if (at < 0) return;
  const same = buttons(fresh).find((b) => b.name === held.name && b.value === held.value);
  (same ?? buttons(fresh)[at])?.focus({ preventScroll: true });
}
