"use strict";
// The parts as triangles and edges, drawn when something has changed and at no other time.
Report.stage = (() => {
  const { data, at, state, lookOf } = Report;
  const canvas = at("canvas");
  let renderer;
  try {
    renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  } catch {
    at("broken").hidden = false;
    canvas.hidden = true;
    return null;
  }
  const scene = new THREE.Scene();
  const camera = new THREE.PerspectiveCamera(28, 1, 1, 1000);
  camera.up.set(0, 0, 1);
  scene.add(camera);
  const room = new THREE.HemisphereLight(0xffffff, 0xa8a8a8, 2.35);
  room.position.set(0, 0, 1);
  scene.add(room);
  const lamp = new THREE.DirectionalLight(0xffffff, 1.1); // over the viewer's left shoulder
  lamp.position.set(-0.8, 0.45, 0.6);
  camera.add(lamp);
  camera.add(lamp.target);

  const CUT = 0.62; // lightness of a cut edge against a broad face, as a beam leaves it
  // The box around a shape, its four narrow sides darker: what a plate looks like from far away.
  const blockOf = (solid) => {
    solid.computeBoundingBox();
    const { min, max } = solid.boundingBox, points = [], shades = [], normals = [], sides = [0, 1, 2].map((k) => ["x", "y", "z"][k]);
    const thin = sides.reduce((a, b) => (max[a] - min[a] <= max[b] - min[b] ? a : b));
    sides.forEach((axis, k) => {
      const [u, v] = [sides[(k + 1) % 3], sides[(k + 2) % 3]];
      for (const [end, sign] of [[max, 1], [min, -1]]) {
        const ring = [[min, min], [max, min], [max, max], [min, min], [max, max], [min, max]];
        for (const [a, b] of sign > 0 ? ring : ring.reverse()) {
          const corner = { [axis]: end[axis], [u]: a[u], [v]: b[v] };
          points.push(corner.x, corner.y, corner.z);
          normals.push(...sides.map((side) => (side === axis ? sign : 0)));
          for (let n = 0; n < 3; n++) shades.push(axis === thin ? 1 : CUT);
        }
      }
    });
    const block = new THREE.BufferGeometry();
    for (const [name, values] of [["position", points], ["normal", normals], ["color", shades]])
      block.setAttribute(name, new THREE.BufferAttribute(new Float32Array(values), 3));
    block.computeBoundingSphere();
    return block;
  };

  const shapeOf = (mesh) => {
    const faces = [...mesh.b.map((face) => [face, 1]), ...mesh.c.map((face) => [face, CUT])];
    const points = [], shades = [], triangles = [];
    for (const [face, shade] of faces) {
      const number = new Map(); // corners are not shared between faces, so that creases stay sharp
      for (const corner of face) {
        if (!number.has(corner)) {
          number.set(corner, points.length / 3);
          for (let k = 0; k < 3; k++) points.push(mesh.p[3 * corner + k] / 1000), shades.push(shade);
        }
        triangles.push(number.get(corner));
      }
    }
    const solid = new THREE.BufferGeometry();
    solid.setAttribute("position", new THREE.BufferAttribute(new Float32Array(points), 3));
    solid.setAttribute("color", new THREE.BufferAttribute(new Float32Array(shades), 3));
    solid.setIndex(new THREE.BufferAttribute(new Uint32Array(triangles), 1));
    solid.computeVertexNormals();
    solid.computeBoundingSphere();
    const ends = [];
    for (const edge of mesh.e)
      for (let k = 1; k < edge.length; k++)
        for (const corner of [edge[k - 1], edge[k]])
          for (let axis = 0; axis < 3; axis++) ends.push(mesh.p[3 * corner + axis] / 1000);
    const lines = new THREE.BufferGeometry();
    lines.setAttribute("position", new THREE.BufferAttribute(new Float32Array(ends), 3));
    return { solid, lines, block: blockOf(solid) };
  };
  const shapes = [];

  const materials = new Map();
  const material = (kind, rgb, look) => {
    const key = `${kind} ${rgb} ${look}`;
    if (materials.has(key)) return materials.get(key);
    const mixed = rgb.map((level) => Math.round(level * 0.86 + 255 * 0.14));
    const color = new THREE.Color(`rgb(${mixed.join(",")})`);
    const dark = (0.3 * rgb[0] + 0.59 * rgb[1] + 0.11 * rgb[2]) < 70;
    const ghost = look === "ghost";
    let made;
    if (kind === "line") {
      const isPicked = look === "picked";
      const ink = isPicked ? 0x0072b2 : dark ? 0xb8bcc0 : 0x17191b;
      made = new THREE.LineBasicMaterial({ color: ink, transparent: true, opacity: ghost ? 0.22 : dark ? 0.7 : 0.85 });
      if (isPicked) (made.depthTest = false), (made.opacity = 1); // its edges shine through what stands before it
    } else if (kind === "inside") {
      made = new THREE.MeshBasicMaterial({ color: color.clone().multiplyScalar(0.2), side: THREE.BackSide });
      made.transparent = ghost;
      made.opacity = ghost ? 0.1 : 1;
    } else {
      made = new THREE.MeshLambertMaterial({ color, vertexColors: true });
      made.polygonOffset = true;
      made.polygonOffsetFactor = made.polygonOffsetUnits = 1;
      if (look === "picked") made.emissive = new THREE.Color(0x0072b2), (made.emissiveIntensity = 0.3);
      if (ghost) (made.transparent = true), (made.opacity = 0.1), (made.depthWrite = false);
    }
    materials.set(key, made);
    return made;
  };

  const partOf = (part, i) => {
    const shape = shapes[part.mesh];
    const body = new THREE.Mesh(shape.solid, material("face", part.rgb, "shown"));
    const inside = new THREE.Mesh(shape.solid, material("inside", part.rgb, "shown"));
    const lines = new THREE.LineSegments(shape.lines, material("line", part.rgb, "shown"));
    const [a, b, c, x, d, e, f, y, g, h, k, z] = part.at;
    for (const thing of [body, inside, lines]) {
      thing.matrixAutoUpdate = false;
      thing.matrix.set(a, b, c, x, d, e, f, y, g, h, k, z, 0, 0, 0, 1);
      scene.add(thing);
    }
    body.userData.part = i;
    inside.visible = false;
    return { body, inside, lines, home: new THREE.Vector3(x, y, z), radius: shape.solid.boundingSphere.radius };
  };
  // What two parts share, which nothing hides: only while findings are shown, and of a picked one nothing but its own.
  const SHARED = new THREE.MeshBasicMaterial({ color: 0xd55e00, depthTest: false, transparent: true, opacity: 0.85 });
  const SHARED_EDGES = new THREE.LineBasicMaterial({ color: 0x000000, depthTest: false, transparent: true });
  const sharedOf = ({ finding, mesh }) => {
    const shape = shapeOf(mesh);
    const body = new THREE.Mesh(shape.solid, SHARED), lines = new THREE.LineSegments(shape.lines, SHARED_EDGES);
    [body.renderOrder, lines.renderOrder] = [7, 8];
    scene.add(body, lines);
    return { finding, body, lines, shape };
  };
  const shared = [];
  const parts = [];
  const build = () => {
    parts.forEach(({ body, inside, lines }) => scene.remove(body, inside, lines));
    shared.forEach(({ body, lines, shape }) => {
      scene.remove(body, lines);
      Object.values(shape).forEach((geometry) => geometry.dispose());
    });
    shared.splice(0, shared.length, ...data.shared.map(sharedOf));
    shapes.forEach((shape) => Object.values(shape).forEach((geometry) => geometry.dispose()));
    shapes.splice(0, shapes.length, ...data.meshes.map(shapeOf));
    parts.splice(0, parts.length, ...data.parts.map(partOf));
  };

  // How far a part has moved at the slider's present place, by all of its moves.
  const offset = (i) => {
    const there = new THREE.Vector3();
    for (const [x, y, z, from, to] of data.parts[i].away) {
      const share = Math.min(1, Math.max(0, (state.apart - from) / (to - from)));
      const eased = share * share * (3 - 2 * share);
      there.add(new THREE.Vector3(x, y, z).multiplyScalar(eased));
    }
    return there;
  };
  const middle = (i) => shapes[data.parts[i].mesh].solid.boundingSphere.center.clone().applyMatrix4(parts[i].body.matrixWorld);

  const plane = new THREE.Plane(new THREE.Vector3(-1, 0, 0), 0);
  let isCut = false;

  const place = () => {
    parts.forEach(({ body, inside, lines, home }, i) => {
      const spot = home.clone().add(offset(i));
      for (const thing of [body, inside, lines]) {
        thing.matrix.setPosition(spot);
        thing.matrixWorldNeedsUpdate = true;
      }
    });
    shared.forEach(({ finding, body, lines }) => {
      const [first] = data.findings[finding].parts;
      const move = first === undefined ? new THREE.Vector3() : offset(first);
      for (const thing of [body, lines]) thing.position.copy(move);
    });
    scene.updateMatrixWorld();
  };
  const dress = () => {
    shared.forEach(({ finding, body, lines }) => {
      body.visible = lines.visible = state.finding === null ? state.pins && state.selected === null : state.finding === finding;
    });
    parts.forEach(({ body, inside, lines }, i) => {
      const look = lookOf(i);
      const isPicked = state.selected === i || (state.focus !== null && state.focus.has(i) && state.focus.size < data.parts.length);
      const dress = look === "ghost" ? "ghost" : isPicked ? "picked" : "shown";
      const rgb = data.parts[i].rgb;
      body.material = material("face", rgb, dress);
      lines.material = material("line", rgb, dress);
      inside.material = material("inside", rgb, dress);
      body.visible = lines.visible = look !== "hidden";
      inside.visible = isCut && look !== "hidden";
    });
  };

  // The box around some parts, or around what is shown.
  const bounds = (which = [...parts.keys()].filter((i) => lookOf(i) !== "hidden")) => {
    const low = new THREE.Vector3(Infinity, Infinity, Infinity), high = low.clone().negate();
    const corner = new THREE.Vector3();
    which.forEach((i) => {
      const { body, lines } = parts[i];
      const spots = (lines.geometry.attributes.position.count ? lines : body).geometry.attributes.position;
      for (let k = 0; k < spots.count; k++) {
        corner.fromBufferAttribute(spots, k).applyMatrix4(body.matrixWorld);
        low.min(corner);
        high.max(corner);
      }
    });
    if (low.x > high.x) return { low: new THREE.Vector3(), high: new THREE.Vector3(1, 1, 1) };
    return { low, high };
  };

  const section = (axis, share, isFlipped) => {
    isCut = axis !== "";
    if (isCut) {
      const { low, high } = bounds();
      const level = low[axis] + (high[axis] - low[axis]) * share;
      const side = (axis === "y") === isFlipped ? -1 : 1; // what stands nearest to the viewer in a corner view goes
      plane.normal.set(0, 0, 0)[axis] = side;
      plane.constant = -side * level;
    }
    renderer.clippingPlanes = isCut ? [plane] : [];
    dress();
    draw();
  };

  // Level of detail: with many parts, those too small to tell edges apart are blocks, and most are while a slow view moves.
  const MANY = 80, SMALL_PX = 22, NEAR_PX = 240;
  let isMoving = false, isSlow = false;
  const detail = () => {
    if (parts.length < MANY) return;
    const scale = canvas.clientHeight / (2 * Math.tan((camera.fov * Math.PI) / 360));
    parts.forEach(({ body, lines, radius }, i) => {
      const pixels = (2 * radius * scale) / Math.max(1e-6, camera.position.distanceTo(middle(i)));
      const isWhole = pixels > (isMoving && isSlow ? NEAR_PX : SMALL_PX), shape = shapes[data.parts[i].mesh];
      body.geometry = isWhole ? shape.solid : shape.block;
      body.visible = lookOf(i) !== "hidden" && pixels > 1;
      lines.visible = body.visible && isWhole;
    });
  };

  let isWaiting = false, last = 0;
  const after = [];
  const render = () => {
    isWaiting = false;
    const width = canvas.clientWidth, height = canvas.clientHeight;
    if (!width || !height) return;
    detail();
    renderer.render(scene, camera);
    after.forEach((call) => call());
  };
  const draw = () => {
    if (isWaiting) return;
    isWaiting = true;
    requestAnimationFrame((now) => {
      if (isMoving && now - last > 70 && now - last < 1000) isSlow = true;
      last = now;
      render();
    });
  };
  let rest = 0;
  const moving = () => {
    isMoving = true;
    clearTimeout(rest);
    rest = setTimeout(() => {
      isMoving = false;
      draw();
    }, 160);
    draw();
  };

  const resize = () => {
    const width = canvas.clientWidth, height = canvas.clientHeight;
    if (!width || !height) return;
    renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    renderer.setSize(width, height, false);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    Report.tell("resized");
    render();
  };
  new ResizeObserver(resize).observe(canvas.parentElement);

  const ray = new THREE.Raycaster();
  const pick = (x, y) => {
    const box = canvas.getBoundingClientRect();
    const spot = new THREE.Vector2(((x - box.left) / box.width) * 2 - 1, 1 - ((y - box.top) / box.height) * 2);
    ray.setFromCamera(spot, camera);
    const bodies = parts.filter((_, i) => lookOf(i) === "shown").map(({ body }) => body);
    const hit = ray.intersectObjects(bodies, false).find(({ point }) => !isCut || plane.distanceToPoint(point) > -1e-4);
    return hit ? hit.object.userData.part : null;
  };

  // Where a world point is on the canvas in CSS pixels, or null behind the viewer.
  const onCanvas = (point) => {
    const seen = point.clone().project(camera);
    if (seen.z > 1) return null;
    return [((seen.x + 1) / 2) * canvas.clientWidth, ((1 - seen.y) / 2) * canvas.clientHeight];
  };

  Report.on("looks", () => (dress(), draw()));
  Report.on("apart", () => (place(), draw()));
  Report.on("renewed", () => (build(), place(), dress(), draw()));
  build();
  place();
  dress();
  return { canvas, scene, camera, parts, shared, dress, offset, middle, bounds, section, draw, moving, resize, pick, onCanvas, after };
})();
