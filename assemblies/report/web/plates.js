"use strict";
// The list of parts, and what is said of the one that is picked.
(() => {
  const { data, at, make, state, stage } = Report;
  if (!stage) return;
  const list = at("list");
  const LONG = 25; // from so many parts on, a field to find one by its name
  const rowOf = (part, i) => {
    const chip = make("span", { class: "chip", "aria-hidden": "true" });
    chip.style.background = `rgb(${part.rgb.join(",")})`;
    const name = make("button", { type: "button", class: "name" }, chip, part.name);
    name.addEventListener("click", () => Report.select(state.selected === i ? null : i));
    const toggle = (word, look) => {
      const button = make("button", { type: "button", class: "state", "aria-label": `${word} ${part.name}` }, word);
      button.addEventListener("click", () => Report.show(i, state.looks[i] === look ? "shown" : look));
      return button;
    };
    const hide = toggle("Hide", "hidden"), ghost = toggle("Ghost", "ghost");
    const only = make("button", { type: "button", class: "state", "aria-label": `Show only ${part.name}` }, "Only");
    only.addEventListener("click", () => Report.isolate(i));
    const row = make("li", {}, name, hide, ghost, only);
    return { row, name, hide, ghost };
  };
  let rows = [];
  const build = () => {
    rows = data.parts.map(rowOf);
    list.classList.toggle("many", rows.length > 100);
    list.replaceChildren(...rows.map(({ row }) => row));
    at("find-label").hidden = rows.length < LONG;
    search();
    paint();
    describe();
  };

  const paint = () => rows.forEach(({ row, name, hide, ghost }, i) => {
    row.className = state.looks[i];
    name.setAttribute("aria-pressed", state.selected === i);
    hide.setAttribute("aria-pressed", state.looks[i] === "hidden");
    ghost.setAttribute("aria-pressed", state.looks[i] === "ghost");
  });

  const fact = (list, term, ...inside) => list.append(make("dt", {}, term), make("dd", {}, ...inside));
  const describe = () => {
    const about = at("about"), i = state.selected;
    about.replaceChildren();
    if (state.gaps) about.append(make("p", { class: "hint" },
      "Bars stand where fits were measured: blue has room, vermillion is pressed; the number is opening minus insert, mm. Pick a plate for its numbers."));
    if (i === null) {
      about.append(make("h2", {}, data.name), make("p", { class: "hint" }, "Pick a plate in the picture or in the list to see what it is."));
      return;
    }
    const part = data.parts[i], facts = make("dl");
    about.append(make("h2", {}, part.name), facts);
    fact(facts, part.kind === "plate" ? "Stock" : "Kind", part.of);
    if (part.note) fact(facts, part.kind === "plate" ? "Size" : "Note", part.note);
    const joints = data.joints.filter((joint) => joint.parts.includes(i));
    if (joints.length) {
      const lines = joints.map((joint) => {
        const other = joint.parts.find((k) => k !== i);
        return make("li", {}, `${joint.kind.replaceAll("_", " ")} with ${other === undefined ? part.name : data.parts[other].name}, ${joint.clearance} mm`);
      });
      fact(facts, "Joints", make("ul", {}, ...lines));
    }
    const found = data.findings.filter((finding) => finding.parts.includes(i));
    fact(facts, "Findings", found.length ? make("ul", {}, ...found.map((one) => make("li", {}, `${one.level} ${one.code}`))) : "none");
    const deeds = make("div", { class: "group" });
    const deed = (word, call) => {
      const button = make("button", { type: "button" }, word);
      button.addEventListener("click", call);
      deeds.append(button);
    };
    deed("Fly to", () => Report.look.flyTo(stage.middle(i), 4.5 * stage.parts[i].radius));
    deed("Hide", () => Report.show(i, "hidden"));
    deed("Ghost", () => Report.show(i, "ghost"));
    deed("Only", () => Report.isolate(i));
    if (part.panel !== null) deed("Panel", () => Report.tell("panel", part.panel));
    about.append(deeds);
  };
  const reveal = () => {
    if (state.selected === null) return;
    const { row } = rows[state.selected], box = list.getBoundingClientRect(), mine = row.getBoundingClientRect();
    if (mine.top < box.top || mine.bottom > box.bottom) list.scrollTop += mine.top - box.top - box.height / 2;
  };

  Report.on("looks", paint);
  Report.on("selected", () => (paint(), describe(), reveal()));
  at("all").addEventListener("click", Report.showAll);
  const search = () => {
    const words = at("find").value.toLowerCase();
    rows.forEach(({ row }, i) => (row.hidden = !data.parts[i].name.toLowerCase().includes(words)));
  };
  at("find").addEventListener("input", search);
  at("list-card").hidden = false;
  Report.on("renewed", build);
  build();
})();
