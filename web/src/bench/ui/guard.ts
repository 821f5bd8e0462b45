/**
 * After a change of screen nothing can be touched or keyed for 300 ms, so that a second tap of the same hand,
 * or a drop of coolant, cannot confirm what has only just appeared. The heading takes the focus.
 */
const GUARD_MS = 300;

export class Guard {
  private key = "";
  private timer: ReturnType<typeof setTimeout> | undefined;
  private readonly root: HTMLElement;

  constructor(root: HTMLElement) {
    this.root = root;
    root.addEventListener("click", (event) => this.stop(event), true);
  }

  get closed(): boolean {
    return this.root.classList.contains("guarded");
  }

  changed(key: string): void {
    if (key === this.key) return;
    const first = this.key === "";
    this.key = key;
    this.root.classList.add("guarded");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.root.classList.remove("guarded"), GUARD_MS);
    if (!first) this.root.querySelector<HTMLElement>("[data-heading]")?.focus({ preventScroll: true });
    this.root.scrollTo({ top: 0 });
  }

  private stop(event: Event): void {
    if (!this.closed) return;
    event.stopImmediatePropagation();
    event.preventDefault();
  }
}
