"use strict";
(() => {
  let sound = null; // the one thing that plays
  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));

  const player = (figure) => {
    const reel = JSON.parse(figure.querySelector(".reel").textContent);
    const bar = figure.querySelector(".player");
    const [slider, shown] = [bar.querySelector("input[type=range]"), bar.querySelector("output")];
    const still = figure.querySelector(".still");
    const caption = figure.querySelector("figcaption");
    const play = bar.querySelector("[data-do=play]");
    const slow = bar.querySelector("[data-do=slow]");
    const inked = bar.querySelector("[data-do=ink]");
    const count = reel.pictures.length;
    const pictures = reel.pictures.map((source) => Object.assign(new Image(), { src: source }));
    let screen = still.querySelector("svg image");
    if (!screen) {
      screen = pictures[0];
      still.replaceChildren(screen);
    }
    let at = 0;
    let running = null;
    let context = null;
    let heard = null;

    const show = (index) => {
      at = Math.min(Math.max(index, 0), count - 1);
      screen.setAttribute(screen.tagName === "image" ? "href" : "src", reel.pictures[at]);
      for (const drawing of still.querySelectorAll("g[data-first]")) {
        const frame = reel.first + at;
        drawing.style.display = inked.checked && frame >= Number(drawing.dataset.first) && frame <= Number(drawing.dataset.last) ? "" : "none";
      }
      slider.value = at;
      shown.value = reel.shown + at;
      caption.textContent = `frame ${reel.shown + at}`;
    };
    const stop = () => {
      if (!running) return;
      cancelAnimationFrame(running.tick);
      if (running.source) running.source.stop();
      running = null;
      play.textContent = "run";
      if (sound === stop) sound = null;
    };
    const start = async () => {
      if (sound) sound();
      sound = stop;
      const mine = (running = { tick: 0, source: null });
      play.textContent = "stop";
      context ??= new AudioContext();
      if (reel.sound && !heard) heard = await context.decodeAudioData(bytes(reel.sound).buffer);
      await context.resume();
      if (running !== mine) return;
      const speed = slow.checked ? 0.5 : 1;
      const length = reel.edges[count];
      const from = at >= count - 1 ? 0 : reel.edges[at];
      if (heard) {
        const source = context.createBufferSource();
        source.buffer = heard;
        source.loop = true;
        source.loopEnd = Math.min(length, heard.duration);
        source.playbackRate.value = speed;
        source.connect(context.destination);
        source.start(0, from);
        mine.source = source;
      }
      const began = context.currentTime;
      const tick = () => {
        const time = (from + Math.max(0, context.currentTime - began - (context.outputLatency || 0)) * speed) % length;
        let frame = 0;
        while (frame + 1 < count && reel.edges[frame + 1] <= time) frame += 1;
        if (frame !== at) show(frame);
        mine.tick = requestAnimationFrame(tick);
      };
      mine.tick = requestAnimationFrame(tick);
    };
    play.addEventListener("click", () => (running ? stop() : start()));
    bar.querySelector("[data-do=back]").addEventListener("click", () => (stop(), show(at - 1)));
    bar.querySelector("[data-do=on]").addEventListener("click", () => (stop(), show(at + 1)));
    slider.addEventListener("input", () => (stop(), show(Number(slider.value))));
    slow.addEventListener("change", () => running && (stop(), start()));
    inked.addEventListener("change", () => show(at));
    slider.max = count - 1;
    at = Math.min(Math.max(Number(figure.dataset.at) - reel.shown, 0), count - 1);
    slider.value = at;
    bar.hidden = false;
  };

  const answers = () => {
    const asked = document.querySelector(".asked");
    if (!asked) return;
    const data = JSON.parse(asked.textContent);
    const [name, state] = [document.querySelector(".send .name"), document.querySelector(".send .state")];
    const cards = [...document.querySelectorAll("[data-note]")].filter((card) => card.querySelector(".done"));
    const key = `shotcrit.answers/1:${data.crit}:${data.take}`;
    const now = () => ({
      schema: "shotcrit.answers/1",
      crit: data.crit,
      take: data.take,
      who: name.value.trim(),
      when: new Date().toISOString(),
      answers: cards.map((card) => ({
        note: card.dataset.note,
        done: card.querySelector(".done").checked,
        text: card.querySelector("textarea").value.trim(),
      })),
    });
    const keep = () => {
      const kept = now();
      state.value = `${kept.answers.filter((one) => one.done).length} of ${cards.length} done`;
      try { localStorage.setItem(key, JSON.stringify(kept)); } catch { /* a page opened from a file may not keep anything; the saved file does */ }
    };
    try {
      const kept = JSON.parse(localStorage.getItem(key) ?? "null");
      if (kept && kept.schema === "shotcrit.answers/1") {
        if (typeof kept.who === "string" && kept.who) name.value = kept.who;
        for (const one of kept.answers) {
          const card = cards.find((other) => other.dataset.note === one.note);
          if (!card) continue;
          card.querySelector(".done").checked = one.done === true;
          card.querySelector("textarea").value = String(one.text ?? "");
        }
      }
    } catch { /* the same */ }
    for (const card of cards) card.addEventListener("input", keep);
    name.addEventListener("input", keep);
    document.querySelector(".send .save").addEventListener("click", () => {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([`${JSON.stringify(now(), null, 2)}\n`], { type: "application/json" }));
      link.download = `${data.name.replace(/[^\p{L}\p{N} _-]+/gu, "_").slice(0, 80)} answers.json`;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 10000);
      state.value += ", saved";
    });
    keep();
  };

  for (const reel of document.querySelectorAll(".reel")) player(reel.closest("figure"));
  answers();
})();
