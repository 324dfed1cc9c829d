"use strict";
// Light or dark, printing, and the mark that everything stands.
(() => {
  const { at, stage } = Report;
  const root = document.documentElement, button = at("theme");
  const prefersDark = window.matchMedia("(prefers-color-scheme: dark)");
  const isDark = () => (root.dataset.theme ? root.dataset.theme === "dark" : prefersDark.matches);
  const label = () => (button.textContent = isDark() ? "Light page" : "Dark page");
  button.addEventListener("click", () => {
    root.dataset.theme = isDark() ? "light" : "dark";
    label();
  });
  prefersDark.addEventListener("change", label);
  label();
  button.hidden = false;
  at("tools").hidden = !stage;
  window.addEventListener("beforeprint", () => {
    document.querySelectorAll("details").forEach((one) => (one.open = true));
    if (stage) stage.resize();
  });
  window.addEventListener("afterprint", () => stage && stage.resize());
  root.dataset.ready = stage ? "yes" : "without-3d";
})();
