"use strict";
// What the other scripts share: the data, the elements, and the state of each part.
const Report = (() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const at = (id) => document.getElementById(id);

  // An element with text and attributes; names only ever come in as text.
  const make = (tag, attributes = {}, ...inside) => {
    const element = document.createElement(tag);
    for (const [key, value] of Object.entries(attributes)) {
      if (key === "class") element.className = value;
      else if (value === true) element.setAttribute(key, "");
      else if (value !== false && value != null) element.setAttribute(key, value);
    }
    element.append(...inside);
    return element;
  };

  const listeners = {};
  const on = (event, call) => (listeners[event] ??= []).push(call);
  const tell = (event, ...facts) => (listeners[event] || []).forEach((call) => call(...facts));

  // How each part is drawn: "shown", "ghost" or "hidden".  A focus dims all parts but its own, until it ends.
  const state = {
    looks: data.parts.map(() => "shown"),
    selected: null,
    finding: null,
    focus: null,
    apart: 0,
    gaps: false,
    pins: true,
  };
  const lookOf = (i) => (state.focus && !state.focus.has(i) && state.looks[i] === "shown" ? "ghost" : state.looks[i]);
  // `which` is one part or a list of them.
  const show = (which, look) => {
    [which].flat().forEach((i) => (state.looks[i] = look));
    tell("looks");
  };
  const isolate = (which) => {
    const kept = new Set([which].flat());
    state.looks = state.looks.map((_, k) => (kept.has(k) ? "shown" : "hidden"));
    state.focus = null;
    tell("looks");
  };
  const showAll = () => {
    state.looks.fill("shown");
    state.focus = null;
    tell("looks");
  };
  const select = (i) => {
    state.selected = i;
    state.finding = null;
    state.focus = null;
    tell("selected");
    tell("looks");
  };
  // A finding is looked at: its plates are shown, and all others dimmed.
  const attend = (i) => {
    const { parts } = data.findings[i];
    Object.assign(state, { selected: null, finding: i, focus: parts.length ? new Set(parts) : null });
    parts.forEach((part) => (state.looks[part] = "shown"));
    tell("selected");
    tell("looks");
  };
  // Another product in the place of this one: parts of the same name keep how they are drawn.
  const renew = (fresh) => {
    const looks = new Map(data.parts.map((part, i) => [part.name, state.looks[i]]));
    const picked = state.selected === null ? null : data.parts[state.selected].name;
    Object.assign(data, fresh);
    state.looks = data.parts.map((part) => looks.get(part.name) ?? "shown");
    const place = data.parts.findIndex((part) => part.name === picked);
    Object.assign(state, { selected: place < 0 ? null : place, finding: null, focus: null });
    tell("renewed");
  };
  const narrow = window.matchMedia("(max-width: 900px)"); // as in the styles: everything in one column
  return { data, at, make, on, tell, state, lookOf, show, isolate, showAll, select, attend, renew, narrow };
})();
