"use strict";
// What is drawn over the picture: pins of findings, and bars with numbers where fits were measured.
Report.marks = (() => {
  const { data, at, make, stage, state, look } = Report;
  if (!stage) return null;
  const MOST_PINS = 200, MOST_NUMBERS = 60;
  const SIGNS = { error: "×", warning: "!", note: "i" };
  const shelf = at("pins");

  const spotOf = (finding) => {
    const spot = finding.place_mm ? new THREE.Vector3(...finding.place_mm) : null;
    if (spot && finding.parts.length) spot.add(stage.offset(finding.parts[0]));
    return spot;
  };
  const pins = [];
  const pin = (finding, i) => {
    if (!finding.place_mm || pins.length >= MOST_PINS) return;
    const words = `${finding.level} ${finding.code}: ${finding.message}`;
    const button = make("button", { type: "button", class: `pin ${finding.level}`, title: words, "aria-label": words },
      SIGNS[finding.level]);
    button.addEventListener("click", () => Report.tell("finding", i));
    shelf.append(button);
    pins.push({ i, finding, button });
  };

  // One bar across each opening as measured: blue where it has room, vermillion where it is pressed.
  let size = 1, reach = 2;
  const colors = { room: 0x0072b2, press: 0xd55e00 };
  const bars = {};
  for (const [kind, color] of Object.entries(colors)) {
    const material = new THREE.LineBasicMaterial({ color, depthTest: false, transparent: true });
    bars[kind] = new THREE.LineSegments(new THREE.BufferGeometry(), material);
    bars[kind].renderOrder = 9;
    bars[kind].frustumCulled = false;
    bars[kind].visible = false;
    stage.scene.add(bars[kind]);
  }
  let numbers = [];
  const concerns = (joint) => state.selected === null || joint.parts.includes(state.selected);
  const shownGaps = () =>
    data.joints.filter((joint) => concerns(joint) && joint.parts.some((i) => Report.lookOf(i) !== "hidden"))
      .flatMap((joint) => joint.gaps.map((gap) => ({ joint, gap })));

  const measure = () => {
    numbers.forEach(({ label }) => label.remove());
    numbers = [];
    const found = state.gaps ? shownGaps() : [];
    const ends = { room: [], press: [] };
    for (const { joint, gap } of found) {
      const [x, y, z, dx, dy, dz, clearance] = gap;
      const middle = new THREE.Vector3(x, y, z).add(stage.offset(joint.parts[1] ?? joint.parts[0]));
      const way = new THREE.Vector3(dx, dy, dz);
      const side = new THREE.Vector3(0, 0, 1).cross(way).lengthSq() < 1e-6 ? new THREE.Vector3(1, 0, 0) : new THREE.Vector3(0, 0, 1);
      side.addScaledVector(way, -side.dot(way)).normalize();
      const list = ends[clearance < 0 ? "press" : "room"];
      const add = (a, b) => list.push(...middle.clone().addScaledVector(way, a).addScaledVector(side, b).toArray());
      add(-reach, 0), add(reach, 0);
      for (const end of [-reach, reach]) add(end, -reach / 2), add(end, reach / 2);
      if (numbers.length < MOST_NUMBERS && (state.selected !== null || found.length <= MOST_NUMBERS)) {
        const label = make("span", { class: "gap" }, clearance.toFixed(2));
        shelf.append(label);
        numbers.push({ label, middle });
      }
    }
    for (const kind of Object.keys(bars)) {
      bars[kind].geometry.dispose();
      bars[kind].geometry = new THREE.BufferGeometry();
      bars[kind].geometry.setAttribute("position", new THREE.BufferAttribute(new Float32Array(ends[kind]), 3));
      bars[kind].visible = ends[kind].length > 0;
    }
    stage.draw();
  };

  const put = (element, point) => {
    const spot = point && stage.onCanvas(point);
    element.hidden = !spot;
    if (spot) element.style.transform = `translate(${spot[0].toFixed(1)}px, ${spot[1].toFixed(1)}px)`;
  };
  const follow = () => {
    for (const { i, finding, button } of pins) {
      put(button, state.pins ? spotOf(finding) : null);
      button.classList.toggle("now", state.finding === i);
    }
    for (const { label, middle } of numbers) put(label, middle);
  };
  stage.after.push(follow);
  for (const event of ["looks", "apart"]) Report.on(event, () => state.gaps && measure());

  const button = at("gaps");
  button.addEventListener("click", () => {
    state.gaps = !state.gaps;
    button.setAttribute("aria-pressed", state.gaps);
    measure();
    Report.tell("selected");
  });
  const pinned = at("pinned");
  pinned.addEventListener("click", () => {
    state.pins = !state.pins;
    pinned.setAttribute("aria-pressed", state.pins);
    stage.dress();
    stage.draw();
  });
  const build = () => {
    pins.splice(0).forEach(({ button }) => button.remove());
    data.findings.forEach(pin);
    size = stage.bounds().low.distanceTo(stage.bounds().high);
    reach = Math.max(2, size / 90);
    button.hidden = !data.joints.some((joint) => joint.gaps.length);
    pinned.hidden = !pins.length;
    measure();
  };
  Report.on("renewed", build);
  build();
  // To the plates that a finding names, whole, about its place if it has one; to the whole product if it is about nothing in particular.
  const flyTo = (finding) => {
    const spot = spotOf(finding);
    return spot || finding.parts.length ? look.flyTo(finding.parts, spot, 0.06 * size) : look.fit();
  };
  return { flyTo };
})();
