export function bytesOf(base64Text: string): ArrayBuffer {
  const raw = atob(base64Text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return bytes.buffer;
}

export const base64 = (bytes: Iterable<number>): string => btoa(String.fromCharCode(...bytes));
