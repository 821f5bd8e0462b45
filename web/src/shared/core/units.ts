/** The only place on the web side where units are converted. */

export const MM_PER_IN = 25.4;
