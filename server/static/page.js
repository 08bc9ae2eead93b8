// Small comforts; every page works without this script.
"use strict";
(() => {
  // After a refused form, the list of faults is read first.
  const faults = document.querySelector(".faults");
  if (faults) faults.focus();
  // A form is sent once, however often the button is tapped with gloves on.
  for (const form of document.querySelectorAll("form[method=post]")) {
    form.addEventListener("submit", (event) => {
      if (form.dataset.sent) { event.preventDefault(); return; }
      form.dataset.sent = "yes";
    });
  }
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });
  // Filters answer as soon as a choice is made.
  for (const select of document.querySelectorAll("form[method=get][data-instant] select")) {
    select.addEventListener("change", () => select.form.requestSubmit());
  }
})();
