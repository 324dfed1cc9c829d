"use strict";
// Findings: a click ghosts everything else and flies to the place; where there are errors they stand before all else.
(() => {
  const { data, at, state, stage } = Report;
  const card = at("found-card");
  const rank = () => {
    const isBad = data.findings.some(({ level }) => level === "error");
    document.documentElement.classList.toggle("errors", isBad);
    const before = isBad ? card.parentElement.firstElementChild : null;
    if (before !== card) card.parentElement.insertBefore(card, before);
  };
  Report.on("renewed", rank);
  rank();
  const buttons = () => [...document.querySelectorAll("[data-finding]")];
  if (!stage) return buttons().forEach((button) => (button.disabled = true));
  const mark = () => buttons().forEach((button) => button.classList.toggle("now", Number(button.dataset.finding) === state.finding));
  Report.on("finding", (i) => {
    Report.attend(i);
    Report.marks.flyTo(data.findings[i]);
  });
  Report.on("selected", mark);
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-finding]");
    if (!button) return;
    Report.tell("finding", Number(button.dataset.finding));
    if (!Report.narrow.matches) stage.canvas.scrollIntoView({ block: "nearest" });
  });
})();
