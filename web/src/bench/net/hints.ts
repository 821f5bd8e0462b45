/** The server's hint stream; it never carries records, only that there is something to fetch. */
export class Hints {
  private stream: EventSource | null = null;
  private readonly heard: (head: number, shop: string) => void;
  private readonly opened: () => void;

  constructor(heard: (head: number, shop: string) => void, opened: () => void) {
    this.heard = heard;
    this.opened = opened;
  }

  /** Listen, unless that is under way. A stream the server has refused ends; a lost one opens itself again. */
  listen(): void {
    if (this.stream !== null) return;
    const stream = new EventSource("/api/sync/hints");
    this.stream = stream;
    stream.addEventListener("open", this.opened);
    stream.addEventListener("head", (message) => this.take(message as MessageEvent<string>));
    stream.addEventListener("error", () => {
      if (stream.readyState === EventSource.CLOSED && this.stream === stream) this.stream = null;
    });
  }

  private take(message: MessageEvent<string>): void {
    try {
      const { head, shop } = JSON.parse(message.data) as { head: number; shop: string };
      this.heard(head, shop);
    } catch {
      // A damaged hint is worth nothing; the half-minute look at the server makes up for it.
    }
  }
}
