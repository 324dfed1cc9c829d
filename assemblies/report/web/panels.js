"use strict";
// A panel or a sheet, large: zoomed and moved by the box that is shown of it.
(() => {
  const { at } = Report;
  const dialog = at("large"), sheet = at("sheet");
  let svg = null, home = [0, 0, 1, 1], box = home;
  const show = () => svg.setAttribute("viewBox", box.map((value) => value.toFixed(3)).join(" "));
  const zoom = (factor, across = 0.5, down = 0.5) => {
    const [x, y, w, h] = box, wide = Math.min(home[2] * 1.5, Math.max(home[2] / 60, w / factor)), high = (h * wide) / w;
    box = [x + (w - wide) * across, y + (h - high) * down, wide, high];
    show();
  };
  const move = (right, down) => {
    const scale = Math.max(box[2] / sheet.clientWidth, box[3] / sheet.clientHeight);
    box = [box[0] - right * scale, box[1] - down * scale, box[2], box[3]];
    show();
  };
  const open = (index) => {
    const figure = at(`panel-${index}`);
    svg = figure.querySelector("svg").cloneNode(true);
    if (svg.dataset.view) svg.setAttribute("viewBox", svg.dataset.view); // with dimensions of its own size
    svg.classList.remove("playing"); // a sheet is shown as cut, however far it is played back
    svg.querySelectorAll(".todo").forEach((path) => path.classList.remove("todo"));
    svg.querySelectorAll("[stroke-dasharray]").forEach((path) => path.removeAttribute("stroke-dasharray"));
    home = box = svg.getAttribute("viewBox").split(" ").map(Number);
    sheet.replaceChildren(svg);
    at("large-name").textContent = figure.querySelector("strong").textContent;
    dialog.showModal();
    sheet.focus();
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-panel]");
    if (button) open(button.dataset.panel);
  });
  document.querySelectorAll("[data-zoom]").forEach((button) => button.addEventListener("click", () => {
    const factor = Number(button.dataset.zoom);
    if (factor) zoom(factor);
    else (box = home), show();
  }));
  at("close").addEventListener("click", () => dialog.close());
  sheet.addEventListener("wheel", (event) => {
    event.preventDefault();
    const area = sheet.getBoundingClientRect();
    zoom(Math.exp(-event.deltaY * 0.0015), (event.clientX - area.left) / area.width, (event.clientY - area.top) / area.height);
  }, { passive: false });
  const fingers = new Map();
  let spread = 0;
  sheet.addEventListener("pointerdown", (event) => {
    sheet.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    spread = 0;
  });
  sheet.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    move((event.clientX - before[0]) / fingers.size, (event.clientY - before[1]) / fingers.size);
    if (fingers.size === 2) {
      const [[ax, ay], [bx, by]] = [...fingers.values()], wide = Math.hypot(ax - bx, ay - by);
      if (spread) zoom(wide / spread);
      spread = wide;
    }
  });
  for (const event of ["pointerup", "pointercancel"]) sheet.addEventListener(event, ({ pointerId }) => fingers.delete(pointerId));
  const ARROWS = { ArrowLeft: [40, 0], ArrowRight: [-40, 0], ArrowUp: [0, 40], ArrowDown: [0, -40] };
  sheet.addEventListener("keydown", (event) => {
    if (ARROWS[event.key]) move(...ARROWS[event.key]);
    else if (event.key === "+" || event.key === "=") zoom(1.25);
    else if (event.key === "-") zoom(0.8);
    else if (event.key === "0") (box = home), show();
    else return;
    event.preventDefault();
  });
  Report.on("panel", (index) => {
    document.querySelectorAll("figure.now").forEach((figure) => figure.classList.remove("now"));
    const figure = at(`panel-${index}`);
    figure.classList.add("now");
    figure.scrollIntoView({ block: "center" });
    figure.querySelector("button").focus({ preventScroll: true });
  });
})();
