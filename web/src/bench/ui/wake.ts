/** Keeps the screen lit while a plate is in hand; says when this device cannot. */
export class Wake {
  private lock: WakeLockSentinel | null = null;
  private wanted = false;
  private readonly told: (awake: boolean | null) => void;

  constructor(told: (awake: boolean | null) => void) {
    this.told = told;
    document.addEventListener("visibilitychange", () => void this.renew());
  }

  want(on: boolean): void {
    if (on === this.wanted) return;
    this.wanted = on;
    void this.renew();
  }

  private async renew(): Promise<void> {
    if (!this.wanted) {
      await this.lock?.release();
      this.lock = null;
      return this.told(null);
    }
    if (document.hidden || (this.lock && !this.lock.released)) return;
    try {
      this.lock = await navigator.wakeLock.request("screen");
      this.told(true);
    } catch {
      this.told(false);
    }
  }
}
