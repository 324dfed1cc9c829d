"use strict";
// Findings: a click ghosts everything else and flies to the place.
(() => {
  const { data, state, stage } = Report;
  const buttons = () => [...document.querySelectorAll("[data-finding]")];
  if (!stage) return buttons().forEach((button) => (button.disabled = true));
  const mark = () => buttons().forEach((button) => button.classList.toggle("now", Number(button.dataset.finding) === state.finding));
  Report.on("finding", (i) => {
    const finding = data.findings[i];
    Report.select(null);
    state.finding = i;
    state.focus = finding.parts.length ? new Set(finding.parts) : null;
    finding.parts.forEach((part) => (state.looks[part] = "shown"));
    Report.tell("looks");
    Report.marks.flyTo(finding);
    mark();
  });
  Report.on("selected", mark);
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-finding]");
    if (!button) return;
    Report.tell("finding", Number(button.dataset.finding));
    stage.canvas.scrollIntoView({ block: "nearest" });
  });
})();
