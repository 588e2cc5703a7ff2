() => {
  // Words on what lies beneath them: every piece of text that is seen, against the first ground
  // that is painted, and what a finger must hit. Other programs call 1:1 undecidable and pass it.
  const rgb = (text) => text.match(/[\d.]+/g).map(Number);
  const light = ([r, g, b]) => {
    const lin = [r, g, b].map((v) => (v / 255 <= 0.03928 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * lin[0] + 0.7152 * lin[1] + 0.0722 * lin[2];
  };
  const groundOf = (node) => {
    for (let n = node; n; n = n.parentElement) {
      const ground = rgb(getComputedStyle(n).backgroundColor);
      if (ground.length < 4 || ground[3] > 0) return ground;
    }
    return [255, 255, 255];
  };
  // What skips the menus is clipped away until a key comes to it: no finger and no eye meets it.
  const seen = (node) =>
    node.checkVisibility({ visibilityProperty: true }) && !node.closest(".out, svg, .skip:not(:focus)");
  const pale = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = walker.nextNode(); text; text = walker.nextNode()) {
    const node = text.parentElement;
    if (!text.data.trim() || !seen(node)) continue;
    const [a, b] = [light(rgb(getComputedStyle(node).color)), light(groundOf(node))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 7) pale.push(`${ratio.toFixed(1)}: ${text.data.trim()}`);
  }
  // What looks smaller may still be hit around itself.
  const hit = (node) => {
    node.scrollIntoView({ block: "center" });
    const box = node.getBoundingClientRect();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const around = [[x, y - 21], [x, y + 21], [x - 21, y], [x + 21, y]];
    return around.every(([px, py]) => node.contains(document.elementFromPoint(px, py)));
  };
  const small = [];
  for (const node of document.querySelectorAll("a[href], button, summary, input, select, textarea")) {
    if (!seen(node) || node.type === "hidden") continue;
    const box = node.getBoundingClientRect();
    if ((box.height < 44 || box.width < 44) && !hit(node))
      small.push(`${box.width.toFixed(0)}x${box.height.toFixed(0)}: ${node.textContent.trim() || node.name}`);
  }
  return { pale, small };
}
