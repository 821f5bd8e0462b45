/** Starts the documentation page of the JSON API on the description that the page names. */

declare const SwaggerUIBundle: (options: {
  url: string;
  domNode: HTMLElement;
  deepLinking: boolean;
  validatorUrl: null;
}) => void;

const place = document.getElementById("docs");
const url = place?.dataset["document"];
if (place !== null && url !== undefined) {
  SwaggerUIBundle({ url, domNode: place, deepLinking: true, validatorUrl: null });
}
