/** What is typed on the keypad: digits move in from the right, the decimals come from the instrument. */

export interface Entry { digits: string; minus: boolean; point: number | null }

export interface Field { decimals: number; sign: boolean; maxDigits: number }

export const EMPTY: Entry = { digits: "", minus: false, point: null };

/** Decimals that show one graduation: 0.01 -> 2, 0.0005 -> 4, 0.5 -> 1, 5 -> 0. */
export function decimalsOf(graduation: number): number {
  for (let decimals = 0; decimals < 6; decimals += 1) {
    const scaled = graduation * 10 ** decimals;
    if (Math.abs(scaled - Math.round(scaled)) < 1e-9 * Math.max(1, scaled)) return decimals;
  }
  return 6;
}

/** The entry after one key, or null if that key is not legal here. */
export function press(entry: Entry, key: string, field: Field): Entry | null {
  if (key === "back") return back(entry);
  if (key === "sign") return field.sign ? { ...entry, minus: !entry.minus } : null;
  if (key === "point") {
    return field.decimals > 0 && entry.point === null ? { ...entry, point: entry.digits.length } : null;
  }
  return /^[0-9]$/.test(key) ? digit(entry, key, field) : null;
}

function digit(entry: Entry, key: string, field: Field): Entry | null {
  if (entry.point !== null && entry.digits.length - entry.point >= field.decimals) return null;
  const digits = entry.digits + key;
  if (digits.replace(/^0+/, "").length > field.maxDigits || digits.length > field.maxDigits + 4) return null;
  return { ...entry, digits };
}

function back(entry: Entry): Entry | null {
  if (entry.point !== null && entry.point === entry.digits.length) return { ...entry, point: null };
  if (entry.digits !== "") return { ...entry, digits: entry.digits.slice(0, -1) };
  return entry.minus ? EMPTY : null;
}

/** Decimal text with a point, e.g. "-0.03"; null while nothing is typed. */
export function valueText(entry: Entry, field: Field): string | null {
  if (entry.digits === "") return null;
  const { whole, part } = halves(entry, field);
  const body = (whole.replace(/^0+(?=\d)/, "") || "0") + (field.decimals > 0 ? `.${part}` : "");
  return entry.minus && !/^[0.]*$/.test(body) ? `-${body}` : body;
}

function halves(entry: Entry, field: Field): { whole: string; part: string } {
  if (entry.point !== null) {
    return { whole: entry.digits.slice(0, entry.point), part: entry.digits.slice(entry.point).padEnd(field.decimals, "0") };
  }
  const padded = entry.digits.padStart(field.decimals + 1, "0");
  const cut = padded.length - field.decimals;
  return { whole: padded.slice(0, cut), part: padded.slice(cut) };
}

/** What the display shows: dashes before the first digit, so that nothing looks like a value. */
export function shown(entry: Entry, field: Field): string {
  const sign = field.sign ? (entry.minus ? "\u2212" : "+") : "";
  return sign + (valueText({ ...entry, minus: false }, field) ?? (0).toFixed(field.decimals).replaceAll("0", "\u2013"));
}

export interface Burst { raw: string; value: string; unit: "mm" | "in" | null }

/** A number as a keyboard wedge or a gauge sends it: comma or point, blanks, an optional unit. */
export function parseBurst(raw: string): Burst | null {
  const match = /^\s*([+\-\u2212]?)\s*(\d{1,6})?(?:[.,](\d{0,8}))?\s*(mm|in|")?\s*$/i.exec(raw);
  if (!match || (match[2] === undefined && !match[3])) return null;
  const sign = match[1] === "-" || match[1] === "\u2212" ? "-" : "";
  const part = match[3] ? `.${match[3]}` : "";
  const unit = match[4] === undefined ? null : match[4].toLowerCase() === "mm" ? "mm" : "in";
  return { raw, value: sign + (match[2] ?? "0").replace(/^0+(?=\d)/, "") + part, unit };
}
