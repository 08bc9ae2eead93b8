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
  // In a round of readings Enter goes on to the next board; from the last one
  // it sends the form, as it does everywhere. Some keyboards tell of one press
  // twice, the second time to the field it led to: that must not send the form.
  const round = [...document.querySelectorAll("input[data-enter=next]")];
  let led = false;
  for (const [i, input] of round.entries()) {
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || event.isComposing || i + 1 === round.length) return;
      event.preventDefault();
      led = true;
      round[i + 1].focus();
      round[i + 1].select();
    });
    input.addEventListener("keypress", (event) => { if (led && event.key === "Enter") event.preventDefault(); });
    input.addEventListener("keyup", () => { led = false; });
  }
  // Filters answer as soon as a choice is made.
  for (const select of document.querySelectorAll("form[method=get][data-instant] select")) {
    select.addEventListener("change", () => select.form.requestSubmit());
  }
})();
