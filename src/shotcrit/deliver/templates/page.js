"use strict";
(() => {
  const pane = document.querySelector(".pane");
  if (!pane) return;
  const roll = pane.querySelector(".roll");
  const band = pane.querySelector(".band");
  const heads = pane.querySelector(".heads");
  const blocks = [...pane.querySelectorAll(".block")];
  const width = Number(roll.dataset.width);
  const row = Number(roll.dataset.row);
  let shown = null;

  const scale = () => roll.clientWidth / width;
  const place = () => {
    for (const block of blocks) block.style.containIntrinsicHeight = `${Number(block.dataset.rows) * row * scale()}px`;
    if (shown) mark(shown[0], shown[1]);
  };
  const top = (frame) => heads.offsetHeight + frame * row * scale();
  const mark = (first, last) => {
    shown = [first, last];
    band.style.top = `${top(first)}px`;
    band.style.height = `${(last - first + 1) * row * scale()}px`;
    band.hidden = false;
  };
  const zoom = (by) => {
    const middle = (pane.scrollTop + pane.clientHeight / 2) / scale();
    const room = pane.clientWidth - 28;
    const next = by === "fit" ? room : Math.min(Math.max(roll.clientWidth * Number(by), room / 4), room * 4);
    roll.style.width = `${next}px`;
    place();
    pane.scrollTop = middle * scale() - pane.clientHeight / 2;
  };
  const jump = (first, last) => {
    mark(first, last);
    pane.scrollTop = top(first) - Math.max(heads.offsetHeight + 20, (pane.clientHeight - (last - first) * row * scale()) / 2);
  };

  for (const button of document.querySelectorAll("[data-zoom]")) button.addEventListener("click", () => zoom(button.dataset.zoom));
  for (const link of document.querySelectorAll("a[data-first]")) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      jump(Number(link.dataset.first), Number(link.dataset.last));
      if (getComputedStyle(pane.parentElement).position === "static") pane.parentElement.scrollIntoView();
    });
  }
  for (const link of pane.querySelectorAll(".block a")) {
    link.addEventListener("click", () => {
      const card = document.querySelector(link.getAttribute("href"));
      const frames = card && card.querySelector("a[data-first]");
      if (frames) mark(Number(frames.dataset.first), Number(frames.dataset.last));
    });
  }
  addEventListener("resize", place);
  place();
})();
