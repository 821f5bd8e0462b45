/**
 * Reads a chart aloud and by eye: one stop for Tab, arrow keys from dot to dot,
 * and the dot under the pointer or focus named below the chart.
 */
export function walkChart(figure: HTMLElement): void {
  const dots = [...figure.querySelectorAll<SVGAElement>("svg a")];
  const readout = figure.querySelector<HTMLElement>(".readout");
  const last = dots.at(-1);
  if (!readout || !last) return;

  const tell = (dot: SVGAElement): void => {
    readout.textContent = dot.getAttribute("aria-label");
  };
  for (const [index, dot] of dots.entries()) {
    dot.addEventListener("pointerenter", () => tell(dot));
    dot.addEventListener("focus", () => {
      for (const other of dots) other.setAttribute("tabindex", other === dot ? "0" : "-1");
      tell(dot);
    });
    dot.addEventListener("keydown", (event) => {
      const next = dots[target(event.key, index, dots.length)];
      if (!next || next === dot) return;
      event.preventDefault();
      next.focus();
    });
  }
  tell(last);
}

/** The dot to go to from `index` on this key; the same one for any other key. */
export function target(key: string, index: number, count: number): number {
  switch (key) {
    case "ArrowLeft":
      return Math.max(0, index - 1);
    case "ArrowRight":
      return Math.min(count - 1, index + 1);
    case "Home":
      return 0;
    case "End":
      return count - 1;
    default:
      return index;
  }
}
