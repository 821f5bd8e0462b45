import { walkChart } from "./chart.ts";
import { offerPrint } from "./print.ts";
import { follow } from "./renew.ts";

offerPrint(document);
follow(document);
for (const figure of document.querySelectorAll<HTMLElement>("[data-chart]")) walkChart(figure);

// A message about what was just done is read first, also by a screen reader that missed its arrival.
document.querySelector<HTMLElement>("[role=alert]")?.setAttribute("tabindex", "-1");
document.querySelector<HTMLElement>("[role=alert]")?.focus();
