/** Short tones and a buzz, where the device has them and the settings allow them. */
export class Sound {
  on = true;
  private context: AudioContext | null = null;

  wrong(): void {
    this.tone([[196, 0], [165, 0.12]], "square");
    this.buzz([60, 40, 60]);
  }

  passDone(): void {
    this.tone([[523, 0], [659, 0.13], [784, 0.26]], "sine");
    this.buzz([180]);
  }

  tap(): void {
    this.buzz([15]);
  }

  private tone(notes: readonly (readonly [hz: number, at: number])[], type: OscillatorType): void {
    if (!this.on || typeof AudioContext === "undefined") return;
    this.context ??= new AudioContext();
    const { context } = this;
    const start = context.currentTime + 0.01;
    for (const [hz, at] of notes) {
      const oscillator = new OscillatorNode(context, { type, frequency: hz });
      const gain = new GainNode(context, { gain: 0.12 });
      oscillator.connect(gain).connect(context.destination);
      oscillator.start(start + at);
      oscillator.stop(start + at + 0.11);
    }
  }

  private buzz(pattern: number[]): void {
    // Before the first touch after a start the browser refuses to buzz, and says so as an error.
    if (this.on && "vibrate" in navigator && navigator.userActivation?.hasBeenActive) navigator.vibrate(pattern);
  }
}
