import type { Language } from "../../shared/core/bench.ts";

/** A decimal text as it is read in this language: comma where it belongs, a true minus sign. */
export const decimal = (text: string, language: Language): string =>
  text.replace("-", "\u2212").replace(".", language === "en" ? "." : ",");

export const signed = (text: string, language: Language): string =>
  /^-?[0.]*$/.test(text) || text.startsWith("-") ? decimal(text, language) : `+${decimal(text, language)}`;

export const plain = (value: number, language: Language): string => decimal(String(Number(value.toFixed(6))), language);
