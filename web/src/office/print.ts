/** Shows the print buttons, which only work with script, and prints the page. */
export function offerPrint(page: ParentNode): void {
  for (const button of page.querySelectorAll<HTMLButtonElement>("button[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
}
