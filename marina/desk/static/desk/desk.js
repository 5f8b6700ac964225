// What htmx leaves unsaid: an answer that could not be shown, or no answer at all, is told in words.
"use strict";

const say = (words) => {
  const place = document.getElementById("told");
  if (place) { place.textContent = words; place.hidden = !words; }
};

document.addEventListener("htmx:beforeRequest", () => say(""));
document.addEventListener("htmx:sendError", () =>
  say("No answer from the harbour's site: nothing was changed. What you typed is still here; try again."));
document.addEventListener("htmx:responseError", (event) => {
  const status = event.detail.xhr.status;
  say(status === 403
    ? "This is not yours to do: nothing was changed. Ask the harbour office."
    : `The site could not do this (answer ${status}): nothing was changed. Load the page again and look.`);
});

// Feet and inches need letters and marks, which a keyboard of figures does not have.
document.addEventListener("change", (event) => {
  if (event.target.name !== "units") return;
  for (const field of event.target.form.querySelectorAll("input[inputmode]"))
    field.inputMode = event.target.value === "ft" ? "text" : "decimal";
});

// What was wrong is no longer said beside a figure that is being mended.
document.addEventListener("input", (event) =>
  event.target.closest(".field")?.querySelector(".errorlist")?.remove());

// Browsers allow it on https and on this machine itself only; elsewhere the browser's own page says the same.
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js");
