"use strict";
// the contact sheet: what is found and how it is sorted; without this script it shows all variants by name
(() => {
  const list = document.getElementById("cards"), cards = [...list.children];
  const find = document.getElementById("find"), verdict = document.getElementById("verdict");
  const sort = document.getElementById("sort"), turn = document.getElementById("turn"), shown = document.getElementById("shown");
  const order = new Map(cards.map((card, index) => [card, index]));
  const words = new Map(cards.map((card) => [card, card.textContent.toLowerCase()]));

  const show = () => {
    const wanted = find.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const card of cards) {
      const fits = (!verdict.value || card.dataset.verdict === verdict.value) && wanted.every((word) => words.get(card).includes(word));
      card.hidden = !fits;
      count += fits;
    }
    shown.textContent = `${count} of ${cards.length} shown`;
  };

  const arrange = () => {
    const key = sort.value.replace(/_(.)/g, (_, letter) => letter.toUpperCase());
    const way = turn.getAttribute("aria-pressed") === "true" ? -1 : 1;
    // what has no such number comes last, whichever way the others go
    const rank = (card) => (card.dataset[key] === undefined ? Infinity : way * Number(card.dataset[key]));
    const by = key ? (a, b) => rank(a) - rank(b) || order.get(a) - order.get(b) : (a, b) => way * (order.get(a) - order.get(b));
    list.append(...[...cards].sort((a, b) => { const found = by(a, b); return Number.isNaN(found) ? order.get(a) - order.get(b) : found; }));
  };

  find.addEventListener("input", show);
  verdict.addEventListener("change", show);
  sort.addEventListener("change", arrange);
  turn.addEventListener("click", () => {
    turn.setAttribute("aria-pressed", String(turn.getAttribute("aria-pressed") !== "true"));
    arrange();
  });
  document.getElementById("tools").hidden = false;
  show();
})();
