/** What the server says of a computation that is under way. */
interface Progress {
  pending: boolean;
  said: string;
  share: number;
}

const EVERY_MS = 1000;

/** Keeps the words and the bar of a running computation fresh; shows the page anew once it has ended. */
export function follow(page: Document): void {
  const part = page.querySelector<HTMLElement>("[data-renew]");
  if (part) void renew(part);
}

async function renew(part: HTMLElement): Promise<void> {
  for (;;) {
    await new Promise((passed) => setTimeout(passed, EVERY_MS));
    const now = await asked(part.dataset["renew"]!);
    if (now === null) continue;
    if (!now.pending) return location.reload();
    show(part, now);
  }
}

/** The progress; null when the server does not answer, which it may do again later. */
async function asked(address: string): Promise<Progress | null> {
  try {
    const answer = await fetch(address, { headers: { accept: "application/json" } });
    if (!answer.ok) return null;
    return (await answer.json()) as Progress;
  } catch {
    return null;
  }
}

function show(part: HTMLElement, now: Progress): void {
  const words = part.querySelector("[data-said]");
  const bar = part.querySelector<HTMLProgressElement>("[data-share]");
  // Unchanged words are left alone, or a screen reader would say them every second.
  if (words && words.textContent !== now.said) words.textContent = now.said;
  if (bar) bar.value = now.share;
}
