"use strict";
// Sheets: the cutting of each, played back path by path.
(() => {
  const SECONDS = 12, FAST = 5; // a whole play, and how much faster travel is shown than cuts
  document.querySelectorAll("figure.sheet").forEach((figure) => {
    const svg = figure.querySelector("svg"), bar = figure.querySelector("input"), run = figure.querySelector(".run");
    const said = figure.querySelector("output"), beam = svg.querySelector(".beam");
    const groups = [...svg.querySelectorAll(".path")], lines = groups.map((group) => group.firstElementChild);
    if (!lines.length) return;
    figure.querySelector(".play").hidden = false;
    const lengths = lines.map((line) => line.getTotalLength());
    const ends = lines.map((line, i) => [line.getPointAtLength(0), line.getPointAtLength(lengths[i])]);
    const box = svg.viewBox.baseVal;
    beam.setAttribute("r", (box.width / 120).toFixed(2));
    let at = { x: 0, y: box.height + 2 * box.y }, total = 0;
    const starts = lengths.map((length, i) => {
      const [begin, end] = ends[i];
      total += Math.hypot(begin.x - at.x, begin.y - at.y) / FAST;
      const start = total;
      total += length;
      at = end;
      return start;
    });
    const seconds = Number(figure.dataset.seconds) || 0;
    const clock = (share) => {
      const whole = Math.round(seconds * share);
      return seconds ? ` · ${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")} of the time` : "";
    };
    const show = (share) => {
      const done = share * total, ended = share >= 1;
      let now = -1;
      lines.forEach((line, i) => {
        const part = ended ? 1 : Math.min(1, Math.max(0, (done - starts[i]) / lengths[i]));
        groups[i].classList.toggle("todo", part === 0);
        if (part > 0 && part < 1) line.setAttribute("stroke-dasharray", `${(part * lengths[i]).toFixed(2)} ${(lengths[i] * 2).toFixed(2)}`);
        else line.removeAttribute("stroke-dasharray");
        if (part > 0) now = i;
      });
      svg.classList.toggle("playing", !ended);
      const words = ended || now < 0 ? counted(lines.length) : `${now + 1} of ${lines.length}: ${groups[now].dataset.words}`;
      said.textContent = words + (ended ? "" : clock(share));
      bar.setAttribute("aria-valuetext", said.textContent);
      if (ended) return;
      const i = Math.max(0, now), along = Math.min(lengths[i], Math.max(0, done - starts[i]));
      let place = lines[i].getPointAtLength(along);
      if (along >= lengths[i] && i + 1 < lines.length) {
        // travelling to the next path
        const next = ends[i + 1][0], from = ends[i][1], gone = done - starts[i] - lengths[i];
        const way = Math.hypot(next.x - from.x, next.y - from.y) / FAST, step = way ? Math.min(1, gone / way) : 1;
        place = { x: from.x + (next.x - from.x) * step, y: from.y + (next.y - from.y) * step };
      }
      beam.setAttribute("cx", place.x.toFixed(2));
      beam.setAttribute("cy", place.y.toFixed(2));
    };
    const counted = (count) => `${count} paths in order of cutting`;
    let frame = 0, before = 0, share = 1;
    const stop = () => {
      cancelAnimationFrame(frame);
      frame = 0;
      run.textContent = "Play";
    };
    const step = (time) => {
      share = Math.min(1, share + (before ? (time - before) / 1000 / SECONDS : 0));
      before = time;
      bar.value = Math.round(share * 1000);
      show(share);
      if (share < 1) frame = requestAnimationFrame(step);
      else stop();
    };
    run.addEventListener("click", () => {
      if (frame) return stop();
      if (share >= 1) share = 0;
      before = 0;
      run.textContent = "Pause";
      frame = requestAnimationFrame(step);
    });
    bar.addEventListener("input", () => {
      stop();
      share = Number(bar.value) / 1000;
      show(share);
    });
    show(1);
  });
})();
