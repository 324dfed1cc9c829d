"use strict";
// The page kept up to date: parameters go to the server, its models and errors come back.
(() => {
  const { at, make } = Report;
  const live = at("live"), form = at("live-controls"), said = at("live-state");
  let shown = 0, wanted = 0, shape = "", state = null, run = 0, knobs = [];

  const post = (path, body) =>
    fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) }).catch(() => lost());
  const lost = () => {
    live.className = "bad";
    said.textContent = "The preview does not answer; start it again, and this page goes on.";
    judge("the preview does not answer");
  };
  // What the page says of its model is true of that model only: when another was wanted, that is said in its place.
  const stale = make("span", { class: "verdict error", id: "stale", hidden: true });
  at("headline").after(stale);
  const old = make("p", { class: "hint", id: "found-stale", hidden: true }, "Of the last model that did build.");
  at("found").before(old);
  const judge = (words) => {
    document.documentElement.classList.toggle("stale", Boolean(words));
    stale.hidden = old.hidden = !words;
    stale.textContent = words;
    document.title = document.title.replace(/: [^:]*$/, words ? `: ${words}` : ": live");
  };

  // Only what differs from the design's own defaults is sent, and so only that is in the command.
  const values = () => Object.fromEntries(knobs.filter(({ control, read }) => read() !== control.default).map(({ control, read }) => [control.name, read()]));
  // What was moved here stands until the server has heard of it: what it tells meanwhile is older.
  const same = (a, b) => JSON.stringify(Object.entries(a).sort()) === JSON.stringify(Object.entries(b).sort());
  let waiting = 0, sent = null;
  const send = () => {
    paint();
    sent = values();
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const mine = sent, answer = await post("/values", mine);
      if (!answer?.ok && sent === mine) sent = null; // refused or not heard: what the server has goes on
    }, 30);
  };
  const paint = () => {
    knobs.forEach(({ control, row, read }) => row.classList.toggle("set", read() !== control.default));
    at("live-defaults").hidden = !knobs.some(({ control, read }) => read() !== control.default);
  };

  const number = (control, id) => {
    const facts = { min: control.low, max: control.high, step: control.step, value: control.value };
    const slider = make("input", { type: "range", "aria-label": `${control.name}, slider`, ...facts });
    const field = make("input", { type: "number", id, step: "any", value: control.value });
    slider.addEventListener("input", () => ((field.value = slider.value), send()));
    field.addEventListener("change", () => ((slider.value = field.value), send()));
    return { inputs: [slider, field], read: () => field.value, write: (value) => (slider.value = field.value = value) };
  };
  const simple = (input, event = "change") => {
    input.classList.add("wide");
    input.addEventListener(event, send);
    return { inputs: [input], read: () => input.value, write: (value) => (input.value = value) };
  };
  const KINDS = {
    number,
    switch: (control, id) => {
      const box = make("input", { type: "checkbox", id });
      box.checked = control.value === "true";
      box.addEventListener("change", send);
      return { inputs: [box], read: () => String(box.checked), write: (value) => (box.checked = value === "true") };
    },
    choice: (control, id) => {
      const pick = make("select", { id }, ...control.options.map((option) => make("option", { value: option }, option)));
      pick.value = control.value;
      return simple(pick);
    },
    text: (control, id) => simple(make("input", { type: "text", id, value: control.value, autocomplete: "off" })),
  };
  const build = (controls) => {
    knobs = controls.map((control, i) => {
      const id = `knob-${i}`, made = KINDS[control.kind](control, id);
      const row = make("div", { class: "knob", title: control.help || control.takes }, make("label", { for: id }, control.name.replaceAll("_", " ")), ...made.inputs);
      return { control, row, ...made };
    });
    form.replaceChildren(...knobs.map(({ row }) => row));
  };
  const controls = (list, settings) => {
    if (sent && same(sent, settings)) sent = null;
    const fresh = JSON.stringify(list.map(({ value, ...rest }) => rest));
    if (fresh !== shape) (shape = fresh), build(list);
    // another window may have moved them; what is being moved here stays
    if (!sent)
      list.forEach(({ value }, i) => knobs[i].inputs.includes(document.activeElement) || knobs[i].write(value));
    paint();
  };

  const quoted = (word) => (/^[\w./,:=+-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`);
  const command = () => {
    const sets = Object.entries(values()).map(([name, value]) => quoted(`${name}=${value}`));
    return `${state.command.map(quoted).join(" ")}${sets.length ? ` --set ${sets.join(" ")}` : ""}`;
  };
  at("live-copy").addEventListener("click", async () => {
    const words = command();
    try {
      await navigator.clipboard.writeText(words);
      said.textContent = `Copied: ${words}`;
    } catch {
      said.textContent = words;
    }
  });
  at("live-defaults").addEventListener("click", () => {
    knobs.forEach(({ control, write }) => write(control.default));
    send();
  });
  at("live-stop").addEventListener("click", () => post("/stop", {}));
  // In one column the knobs stand under the picture that they change.
  const place = () => (Report.narrow.matches ? at("view").insertBefore(form, at("tools")) : live.insertBefore(form, at("live-printed")));
  Report.narrow.addEventListener("change", place);
  place();
  form.addEventListener("submit", (event) => event.preventDefault());

  const load = async () => {
    const wish = wanted;
    let model;
    try {
      model = await (await fetch("/model")).json();
    } catch {
      return lost();
    }
    if (!model || model.number <= shown) return;
    shown = model.number;
    const { title, headline, links, findings, sections } = model.content;
    // HTML that the toolkit made, with every name escaped; the page's policy lets no script in it run
    at("title").innerHTML = title;
    at("headline").innerHTML = headline;
    at("links").innerHTML = links;
    at("found").innerHTML = findings;
    const top = window.scrollY;
    at("sections").innerHTML = sections;
    window.scrollTo(0, top);
    if (!document.documentElement.classList.contains("stale")) document.title = `${at("title").textContent}: live`;
    Report.renew(model.scene);
    requestAnimationFrame(() => requestAnimationFrame(() => (document.documentElement.dataset.model = shown)));
    if (wanted > wish) load();
  };

  const tell = () => {
    const { building, error, model, seconds, printed } = state;
    live.className = building ? "busy" : error ? "bad" : "";
    said.textContent = building ? "Building …" : error ? "Not built." : `Built in ${seconds.toFixed(2)} s.  Save ${state.design} to build it again.`;
    at("live-stop").hidden = !building;
    at("live-copy").hidden = !state.parameters.length;
    const box = at("live-error"), words = building ? null : error;
    if (words !== null) {
      box.hidden = !words;
      box.querySelector("pre").textContent = words;
      at("live-kept").hidden = !model;
    }
    if (!building) judge(error ? `does not build${model ? "; below is the last model that did" : ""}` : "");
    at("live-printed").hidden = !printed;
    at("live-printed").querySelector("pre").textContent = printed;
    document.documentElement.dataset.live = building ? "building" : error ? "error" : "built";
  };
  const source = new EventSource("/events");
  source.addEventListener("message", (event) => {
    state = JSON.parse(event.data);
    if (state.run !== run) (run = state.run), (shown = 0), (sent = null); // the preview was started again
    controls(state.parameters, state.settings);
    tell();
    if (state.model > shown) (wanted = state.model), load();
  });
  source.addEventListener("error", lost);
})();
