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

// What was entered without a signal waits on the phone: sent when a page opens or the signal is back.
const later = (ask, more = {}) => navigator.serviceWorker.controller?.postMessage(
  { ask, who: document.body.dataset.who, token: document.body.dataset.token, ...more });

const sentence = (parent, tag, words) => {
  const made = parent.appendChild(document.createElement(tag));
  made.textContent = words;
  return made;
};

const showWaiting = ({ sent, waiting }) => {
  document.getElementById("waiting")?.remove();
  if (!sent && !waiting.length) return;
  const place = document.createElement("section");
  place.id = "waiting";
  place.className = "said";
  place.setAttribute("role", "status");
  if (sent) sentence(place, "p", `Sent now, with the time at which it was done: ${sent}.`);
  const mine = waiting.filter((row) => row.mine && !row.refused);
  if (mine.length) sentence(place, "p", `Kept on this phone, not sent yet: ${mine.map((row) => row.what).join("; ")}.`);
  const others = waiting.filter((row) => !row.mine).length;
  if (others) sentence(place, "p", `Kept for somebody else who has to sign in here: ${others}.`);
  for (const row of waiting.filter((it) => it.mine && it.refused)) {
    sentence(place, "p", `Not taken by the site: ${row.what}. This was entered; enter it again where it belongs.`);
    const list = place.appendChild(document.createElement("ul"));
    for (const [name, value] of row.fields) sentence(list, "li", `${name}: ${value}`);
    const again = sentence(place, "a", "To its page");
    again.href = row.path;
    again.className = "step";
    const drop = sentence(place, "button", "Forget this entry");
    drop.className = "plain";
    drop.addEventListener("click", () => later("drop", { id: row.id }));
  }
  document.getElementById("main").prepend(place);
};

// Browsers allow it on https and on this machine itself only; elsewhere the browser's own page says the same.
if ("serviceWorker" in navigator) {
  navigator.serviceWorker.register("/sw.js");
  navigator.serviceWorker.addEventListener("message", (event) => showWaiting(event.data));
  navigator.serviceWorker.ready.then(() => {
    if (!document.body.dataset.who) return;
    later("send");
    const ahead = [...document.querySelectorAll("a[data-ahead]")].map((link) => link.pathname);
    if (ahead.length) later("keep", { paths: ahead });
  });
  addEventListener("online", () => later("send"));
}
