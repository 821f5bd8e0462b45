import { Directive, directive, PartType } from "lit/directive.js";
import type { ElementPart, PartInfo } from "lit/directive.js";
import { noChange } from "lit";

export const HOLD_MS = 800;

/** Calls back after the button was held in place, by finger, mouse or Enter, for 0.8 s. */
class Hold extends Directive {
  private act: () => void = () => undefined;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private bound = false;

  constructor(part: PartInfo) {
    super(part);
    if (part.type !== PartType.ELEMENT) throw new Error("hold belongs on an element");
  }

  override render(_act: () => void): typeof noChange {
    return noChange;
  }

  override update(part: ElementPart, [act]: [() => void]): typeof noChange {
    this.act = act;
    if (!this.bound) this.bind(part.element as HTMLElement);
    return noChange;
  }

  private bind(button: HTMLElement): void {
    this.bound = true;
    const stop = (): void => {
      clearTimeout(this.timer);
      button.classList.remove("holding");
    };
    const start = (): void => {
      stop();
      button.classList.add("holding");
      this.timer = setTimeout(() => {
        stop();
        this.act();
      }, HOLD_MS);
    };
    button.addEventListener("pointerdown", start);
    for (const name of ["pointerup", "pointerleave", "pointercancel", "blur", "keyup"]) button.addEventListener(name, stop);
    button.addEventListener("contextmenu", (event) => event.preventDefault());
    button.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      if (!event.repeat) start();
    });
  }
}

export const hold = directive(Hold);
