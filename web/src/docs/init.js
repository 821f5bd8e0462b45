"use strict";
const place = document.getElementById("docs");
window.SwaggerUIBundle({
  url: place.dataset.document,
  domNode: place,
  deepLinking: true,
  validatorUrl: null,
  presets: [window.SwaggerUIBundle.presets.apis],
});
