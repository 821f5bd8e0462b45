import type { Language } from "../core/bench.ts";
import { de } from "./de.ts";
import { en } from "./en.ts";
import type { Texts } from "./en.ts";
import { es } from "./es.ts";

export type { Texts };

export const TEXTS: Record<Language, Texts> = { en, de, es };

export const LANGUAGE_NAMES: Record<Language, string> = { en: "English", de: "Deutsch", es: "Español" };
