/** The code a lead reads out or shows: ten characters that cannot be taken for one another. */

export const CODE_KEYS = "23456789ABCDEFGHJKMNPQRSTVWXYZ";
export const CODE_LENGTH = 10;

const HALF = CODE_LENGTH / 2;
const IN_ADDRESS = /#enrol=([^&\s]*)/i;

const legal = (text: string): string =>
  [...text.toUpperCase()].filter((char) => CODE_KEYS.includes(char)).join("");

/** The code in an address, as the office's picture code holds it; null where there is none. */
export function codeInAddress(address: string): string | null {
  const found = IN_ADDRESS.exec(address)?.[1];
  return found === undefined ? null : whole(found);
}

/** The code out of what a scanner gives: the address, or the code with or without its dash. */
export const codeIn = (raw: string): string | null => codeInAddress(raw) ?? whole(raw);

/** Ten legal characters and nothing else but the dash and spaces. */
function whole(text: string): string | null {
  const bare = text.replace(/[-\s]/g, "").toUpperCase();
  return bare.length === CODE_LENGTH && legal(bare) === bare ? bare : null;
}

/** The code after a key; null when the key is not legal. */
export function codeKey(code: string, key: string): string | null {
  if (key === "back") return code === "" ? null : code.slice(0, -1);
  const char = key.toUpperCase();
  return char.length === 1 && CODE_KEYS.includes(char) && code.length < CODE_LENGTH ? code + char : null;
}

/** As the office shows it, with a place for every character still to come. */
export function codeShown(code: string): string {
  const filled = code.padEnd(CODE_LENGTH, "\u00b7");
  return `${filled.slice(0, HALF)}-${filled.slice(HALF)}`;
}

export const enrolProof = (code: string, tablet: string): string => `clampbook-enrol/1 ${code} ${tablet}`;

export const sessionProof = (nonce: string, tablet: string): string => `clampbook-session/1 ${nonce} ${tablet}`;

export const eventProof = (eventHash: string): string => `clampbook-event/1 ${eventHash}`;
