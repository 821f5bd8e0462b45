/** The server's hint stream; it never carries records, only that there is something to fetch. */
export function listen(heard: (head: number, shop: string) => void, opened: () => void): () => void {
  const stream = new EventSource("/api/sync/hints");
  stream.addEventListener("open", opened);
  stream.addEventListener("head", (message) => {
    try {
      const { head, shop } = JSON.parse((message as MessageEvent<string>).data) as { head: number; shop: string };
      heard(head, shop);
    } catch {
      // A damaged hint is worth nothing; the half-minute look at the server makes up for it.
    }
  });
  return () => stream.close();
}
