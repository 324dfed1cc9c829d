"use strict";
// Where the viewer stands: around a target by azimuth and elevation; by mouse, touch and keyboard, and by flying.
Report.look = (() => {
  const { data, stage, state, at } = Report;
  if (!stage) return null;
  const { canvas, camera } = stage;
  const rad = Math.PI / 180;
  const VIEWS = { corner: [32, 28], front: [0, 0], right: [90, 0], top: [0, 89.9] };
  const now = { azimuth: 32, elevation: 28, distance: 500, target: new THREE.Vector3() };
  let extent = 100;

  const apply = () => {
    const { azimuth, elevation, distance, target } = now;
    const flat = Math.cos(elevation * rad);
    const out = new THREE.Vector3(
      Math.sin(azimuth * rad) * flat, -Math.cos(azimuth * rad) * flat, Math.sin(elevation * rad));
    camera.position.copy(target).addScaledVector(out, distance);
    camera.near = Math.max(distance / 200, distance - 4 * extent);
    camera.far = distance + 6 * extent;
    camera.lookAt(target);
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
    stage.moving();
  };

  const measure = () => {
    const { low, high } = stage.bounds();
    extent = Math.max(1, low.distanceTo(high));
    return { low, high };
  };
  // The target and distance at which a box fits, seen from a direction: all that is shown, about its middle, if nothing else is given.
  const fitting = (azimuth, elevation, box = measure(), about = null) => {
    const { low, high } = box;
    const target = about ? about.clone() : low.clone().add(high).multiplyScalar(0.5);
    const flat = Math.cos(elevation * rad);
    const out = new THREE.Vector3(
      Math.sin(azimuth * rad) * flat, -Math.cos(azimuth * rad) * flat, Math.sin(elevation * rad));
    const right = new THREE.Vector3(Math.cos(azimuth * rad), Math.sin(azimuth * rad), 0);
    const up = out.clone().cross(right);
    const tall = Math.tan((camera.fov / 2) * rad), wide = tall * camera.aspect;
    let distance = 0;
    for (let k = 0; k < 8; k++) {
      const corner = new THREE.Vector3(k & 1 ? high.x : low.x, k & 2 ? high.y : low.y, k & 4 ? high.z : low.z).sub(target);
      const across = Math.abs(corner.dot(right)) / wide, upwards = Math.abs(corner.dot(up)) / tall;
      distance = Math.max(distance, corner.dot(out) + 1.08 * Math.max(across, upwards));
    }
    return { azimuth, elevation, distance, target };
  };

  const isCalm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let flight = 0, heading = null;
  const land = () => (cancelAnimationFrame(flight), (heading = null));
  const fly = (goal) => {
    land();
    heading = goal;
    const from = { ...now, target: now.target.clone() };
    const turn = ((((goal.azimuth - from.azimuth) % 360) + 540) % 360) - 180;
    const start = performance.now(), time = isCalm.matches ? 0 : 420;
    const step = (t) => {
      const share = time ? Math.min(1, Math.max(0, (t - start) / time)) : 1;
      const eased = share * share * (3 - 2 * share);
      now.azimuth = from.azimuth + turn * eased;
      now.elevation = from.elevation + (goal.elevation - from.elevation) * eased;
      now.distance = from.distance * (goal.distance / from.distance) ** eased;
      now.target.lerpVectors(from.target, goal.target, eased);
      apply();
      if (share < 1) flight = requestAnimationFrame(step);
      else heading = null;
    };
    step(start);
  };
  const facing = () => [(heading ?? now).azimuth, (heading ?? now).elevation];
  const fit = () => fly(fitting(...facing()));
  const from = (name) => fly(fitting(...VIEWS[name]));
  // Some parts, whole, about a point or about their middle; or a point with some room around it.  Where the viewer stood before
  // decides nothing but the direction.
  const flyTo = (which, point = null, room = 20) => {
    measure();
    const around = point && { low: point.clone().subScalar(room), high: point.clone().addScalar(room) };
    fly(fitting(...facing(), which.length ? stage.bounds(which) : around, point));
  };

  const turn = (right, up) => {
    land();
    now.azimuth -= right;
    now.elevation = Math.min(89.9, Math.max(-89.9, now.elevation + up));
    apply();
  };
  const move = (right, up) => {
    land();
    const mm = (2 * Math.tan((camera.fov / 2) * rad) * now.distance) / Math.max(1, canvas.clientHeight);
    const axes = camera.matrixWorld.elements;
    now.target.addScaledVector(new THREE.Vector3(axes[0], axes[1], axes[2]), -right * mm);
    now.target.addScaledVector(new THREE.Vector3(axes[4], axes[5], axes[6]), up * mm);
    apply();
  };
  const zoom = (factor) => {
    land();
    now.distance = Math.min(8 * extent, Math.max(extent / 400, now.distance * factor));
    apply();
  };

  const fingers = new Map();
  let travelled = 0, spread = 0;
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    travelled = fingers.size > 1 ? 99 : 0;
    spread = 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const dx = event.clientX - before[0], dy = event.clientY - before[1];
    travelled += Math.abs(dx) + Math.abs(dy);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (fingers.size === 2) {
      const [[ax, ay], [bx, by]] = [...fingers.values()];
      const wide = Math.hypot(ax - bx, ay - by);
      if (spread) zoom(spread / Math.max(1, wide));
      spread = wide;
      move(dx / 2, dy / 2);
    } else if (event.buttons & 2 || event.buttons & 4 || event.shiftKey) move(dx, dy);
    else turn(dx * 0.4, dy * 0.4);
  });
  const lift = (event) => {
    const isClick = fingers.delete(event.pointerId) && event.type === "pointerup" && travelled < 6 && event.button === 0;
    spread = 0;
    if (isClick) Report.select(stage.pick(event.clientX, event.clientY));
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(Math.sign(event.deltaY) * Math.min(0.25, Math.abs(event.deltaY) * 0.0015)));
  }, { passive: false });

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = ARROWS[event.key], key = event.key.toLowerCase(), picked = state.selected;
    const toggled = (look) => picked !== null && Report.show(picked, state.looks[picked] === look ? "shown" : look);
    const count = state.looks.length;
    const deeds = {
      "+": () => zoom(0.85), "=": () => zoom(0.85), "-": () => zoom(1.18), 0: fit, home: () => from("corner"),
      n: () => Report.select(picked === null ? 0 : (picked + (event.shiftKey ? count - 1 : 1)) % count),
      h: () => toggled("hidden"), g: () => toggled("ghost"),
      i: () => picked !== null && Report.isolate(picked), a: () => Report.showAll(), escape: () => Report.select(null),
    };
    if (arrow) (event.shiftKey ? move(-24 * arrow[0], 24 * arrow[1]) : turn(-6 * arrow[0], 6 * arrow[1]));
    else if (deeds[key]) deeds[key]();
    else return;
    event.preventDefault();
  });

  document.querySelectorAll("[data-look]").forEach((button) => button.addEventListener("click", () => from(button.dataset.look)));
  at("whole").addEventListener("click", fit);
  at("apart").addEventListener("input", (event) => {
    state.apart = event.target.value / 100;
    Report.tell("apart");
  });
  at("apart").addEventListener("change", fit);
  // What the slider leaves together is said beside it, as soon as it is moved.
  const stays = at("stays");
  const explain = () => {
    stays.textContent = data.stays;
    stays.hidden = !data.stays || !state.apart;
  };
  Report.on("apart", explain);

  const axis = at("axis"), cut = at("cut"), flip = at("flip");
  let isFlipped = false;
  const slice = () => {
    cut.disabled = flip.disabled = axis.value === "";
    stage.section(axis.value, cut.value / 1000, isFlipped);
  };
  axis.addEventListener("change", slice);
  cut.addEventListener("input", slice);
  flip.addEventListener("click", () => ((isFlipped = !isFlipped), slice()));
  Report.on("apart", () => axis.value && slice());
  // The page is still filling when the product is first fitted, and windows are pulled wider: until the viewer moves, it is fitted anew.
  let opened = null;
  const open = () => {
    land();
    Object.assign(now, fitting(...VIEWS.corner));
    opened = { ...now, target: now.target.clone() };
    apply();
  };
  const isAsOpened = () => opened && !heading && opened.target.equals(now.target)
    && ["azimuth", "elevation", "distance"].every((key) => opened[key] === now[key]);
  Report.on("resized", () => isAsOpened() && open());
  // Another product: the viewer stays where they are, unless there was nothing to see before.
  let isEmpty = !state.looks.length;
  Report.on("renewed", () => {
    measure();
    if (isEmpty) open();
    isEmpty = !state.looks.length;
    if (axis.value) slice();
    explain();
    apply();
  });

  stage.resize();
  open();
  return { now, fit, flyTo };
})();
