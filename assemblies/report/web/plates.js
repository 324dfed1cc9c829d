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
  // Screws and nuts are one line, which unfolds.
  const foldOf = (bought) => {
    const inside = make("ul", { class: "folded", id: "bought", "aria-label": "Screws and nuts" }, ...bought.map((i) => rows[i].row));
    const words = `${bought.length} ${bought.length === 1 ? "screw or nut" : "screws and nuts"}`;
    const name = make("button", { type: "button", class: "name", "aria-controls": "bought" }, words);
    const unfold = (isOpen) => ((inside.hidden = !isOpen), name.setAttribute("aria-expanded", isOpen));
    name.addEventListener("click", () => unfold(inside.hidden));
    const deed = (word, label, call) => {
      const button = make("button", { type: "button", class: "state", "aria-label": label }, word);
      button.addEventListener("click", call);
      return button;
    };
    const toggle = (look) => () => Report.show(bought, bought.every((i) => state.looks[i] === look) ? "shown" : look);
    const hide = deed("Hide", "Hide screws and nuts", toggle("hidden")), ghost = deed("Ghost", "Ghost screws and nuts", toggle("ghost"));
    const only = deed("Only", "Show only screws and nuts", () => Report.isolate(bought));
    const paint = () => {
      const are = (look) => bought.every((i) => state.looks[i] === look);
      hide.setAttribute("aria-pressed", are("hidden"));
      ghost.setAttribute("aria-pressed", are("ghost"));
      row.classList.toggle("hidden", are("hidden"));
    };
    const row = make("li", { class: "fold" }, name, hide, ghost, only);
    unfold(false);
    return { lines: [row, make("li", { class: "unfolded" }, inside)], unfold, paint, has: (i) => bought.includes(i) };
  };
  let rows = [], fold = null;
  const build = () => {
    rows = data.parts.map(rowOf);
    list.classList.toggle("many", rows.length > 100);
    const bought = [...data.parts.keys()].filter((i) => data.parts[i].kind !== "plate");
    fold = bought.length ? foldOf(bought) : null;
    list.replaceChildren(...rows.filter((_, i) => !fold?.has(i)).map(({ row }) => row), ...(fold?.lines ?? []));
    at("find-label").hidden = rows.length < LONG;
    search();
    paint();
    describe();
  };

  const paint = () => (fold?.paint(), rows.forEach(({ row, name, hide, ghost }, i) => {
    row.className = state.looks[i];
    name.setAttribute("aria-pressed", state.selected === i);
    hide.setAttribute("aria-pressed", state.looks[i] === "hidden");
    ghost.setAttribute("aria-pressed", state.looks[i] === "ghost");
  }));

  const WORDS = { error: "Error", warning: "Warning", note: "Note" };
  const fact = (list, term, ...inside) => list.append(make("dt", {}, term), make("dd", {}, ...inside));
  const describe = () => {
    const about = at("about"), i = state.selected;
    about.replaceChildren();
    if (state.gaps) about.append(make("p", { class: "hint" },
      "Bars stand where fits were measured: blue has room, vermillion is pressed; the number is opening minus insert, mm. Pick a plate for its numbers."));
    about.classList.toggle("idle", i === null && state.finding === null && !state.gaps);
    if (state.finding !== null) {
      const { level, code, message, parts } = data.findings[state.finding], facts = make("dl");
      about.append(make("h2", {}, `${WORDS[level]} ${code}`), make("p", {}, message), facts);
      if (parts.length) fact(facts, "Plates", parts.map((k) => data.parts[k].name).join(", "));
      return;
    }
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
        return make("li", {}, `${joint.words} with ${other === undefined ? part.name : data.parts[other].name}, ${joint.clearance_mm} mm`);
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
    deed("Fly to", () => Report.look.flyTo([i]));
    deed("Hide", () => Report.show(i, "hidden"));
    deed("Ghost", () => Report.show(i, "ghost"));
    deed("Only", () => Report.isolate(i));
    if (part.panel !== null) deed("Panel", () => Report.tell("panel", part.panel));
    about.append(deeds);
  };
  const reveal = () => {
    if (state.selected === null) return;
    if (fold?.has(state.selected)) fold.unfold(true);
    const { row } = rows[state.selected], box = list.getBoundingClientRect(), mine = row.getBoundingClientRect();
    if (mine.top < box.top || mine.bottom > box.bottom) list.scrollTop += mine.top - box.top - box.height / 2;
  };

  Report.on("looks", paint);
  // In one column the facts stand right under the picture, and come into view with it when something is picked.
  const about = at("about"), aside = about.parentElement;
  const settle = () => (Report.narrow.matches ? document.querySelector(".stage").after(about) : aside.insertBefore(about, at("list-card")));
  Report.narrow.addEventListener("change", settle);
  settle();
  const bring = () => {
    if (!Report.narrow.matches || about.classList.contains("idle")) return;
    const { top, bottom, height } = about.getBoundingClientRect(), room = window.innerHeight;
    const picture = stage.canvas.getBoundingClientRect(), isGone = picture.top < -picture.height / 2;
    if (top < 0 || bottom > room || isGone) about.scrollIntoView({ block: height > room ? "start" : "end" });
  };
  Report.on("selected", () => (paint(), describe(), reveal(), bring()));
  at("all").addEventListener("click", Report.showAll);
  const search = () => {
    const words = at("find").value.toLowerCase();
    rows.forEach(({ row }, i) => (row.hidden = !data.parts[i].name.toLowerCase().includes(words)));
    if (words && fold) fold.unfold(rows.some(({ row }, i) => fold.has(i) && !row.hidden));
  };
  at("find").addEventListener("input", search);
  at("list-card").hidden = false;
  Report.on("renewed", build);
  build();
})();
