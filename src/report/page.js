// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg", BEFORE_S = 0.05;
  const numbers = (text) => (text || "").split(" ").filter(Boolean).map(Number);

  const start = (article) => {
    const player = article.querySelector(".player");
    if (!player) return;
    const takes = [...player.querySelectorAll("audio")], beats = numbers(player.dataset.beats), best = numbers(player.dataset.best);
    const now = player.querySelector(".now"), loopButton = player.querySelector("[data-do=loop]");
    if (!takes.length) return;
    let take = takes[0], stopAt = null, looping = false, held = -1;

    const startOf = (t) => Number(t.dataset.start), factorOf = (t) => Number(t.dataset.factor);
    const timeOf = (t) => startOf(t) + t.currentTime / factorOf(t);
    const endOf = (t) => startOf(t) + (isFinite(t.duration) ? t.duration : 0) / factorOf(t);
    const seek = (t, time) => { t.currentTime = Math.max(0, (time - startOf(t)) * factorOf(t)); };
    const holds = (t, time) => time >= startOf(t) - BEFORE_S && time < endOf(t);

    const fields = [...article.querySelectorAll("svg[data-field]")].map((svg) => {
      const [x, y, width, height, from, to] = numbers(svg.dataset.field);
      const box = document.createElementNS(SVG, "rect"), line = document.createElementNS(SVG, "line");
      box.setAttribute("class", "held");
      box.setAttribute("y", y);
      box.setAttribute("height", height);
      line.setAttribute("class", "cursor");
      line.setAttribute("y1", y);
      line.setAttribute("y2", y + height);
      return { svg, x, width, from, to, box, line, at: (time) => x + (time - from) / (to - from) * width };
    });

    const show = () => {
      const time = timeOf(take);
      for (const f of fields) {
        if (time < f.from || time > f.to) { f.line.remove(); continue; }
        f.line.setAttribute("x1", f.at(time));
        f.line.setAttribute("x2", f.at(time));
        if (!f.line.parentNode) f.svg.append(f.line);
      }
    };
    const endOfBeat = (i) => i + 1 < beats.length && beats[i + 1] - beats[i] < 6 ? beats[i + 1] : beats[i] + 1;
    const hold = (i) => {
      held = i;
      for (const f of fields) {
        if (i < 0 || beats[i] < f.from || beats[i] > f.to) { f.box.remove(); continue; }
        const from = f.at(beats[i]), to = Math.min(f.at(endOfBeat(i)), f.x + f.width);
        f.box.setAttribute("x", from);
        f.box.setAttribute("width", Math.max(to - from, 1));
        f.svg.append(f.box);
      }
    };
    const choose = (t) => {
      for (const other of takes) {
        if (other !== t) other.pause();
        other.parentNode.classList.toggle("chosen", other === t);
      }
      take = t;
    };
    const play = () => { const p = take.play(); if (p) p.catch(() => {}); };
    const setLoop = (on) => {
      looping = on && best.length === 2;
      loopButton.setAttribute("aria-pressed", String(looping));
    };
    const playBeat = (i) => {
      if (i < 0 || i >= beats.length) return;
      if (!holds(take, beats[i])) {
        const other = takes.find((t) => holds(t, beats[i]));
        if (!other) { now.textContent = "This beat is not in the sound carried here."; return; }
        choose(other);
      }
      setLoop(false);
      hold(i);
      now.textContent = `Beat ${i + 1} of ${beats.length}, at ${beats[i].toFixed(2)} s`;
      seek(take, beats[i] - BEFORE_S);
      stopAt = endOfBeat(i);
      play();
    };
    const beatAt = (time) => {
      let i = beats.length - 1;
      while (i >= 0 && beats[i] - BEFORE_S > time) i--;
      return i >= 0 && time < endOfBeat(i) ? i : -1;
    };
    const current = () => (held >= 0 ? held : beatAt(timeOf(take)));
    const act = {
      play() { if (take.paused) { stopAt = null; hold(-1); play(); } else take.pause(); },
      back() { playBeat(Math.max(current() - 1, 0)); },
      on() { playBeat(current() + 1); },
      loop() {
        setLoop(!looping);
        if (!looping) { take.pause(); return; }
        hold(-1);
        stopAt = null;
        now.textContent = `The best stretch, ${best[0].toFixed(1)} to ${best[1].toFixed(1)} s, again and again`;
        seek(take, best[0]);
        play();
      },
    };

    const step = () => {
      const time = timeOf(take);
      if (stopAt !== null && time >= stopAt) { take.pause(); stopAt = null; }
      if (looping && (time >= best[1] || time < best[0] - 1)) seek(take, best[0]);
      show();
      if (!take.paused) requestAnimationFrame(step);
    };
    for (const t of takes) {
      t.addEventListener("play", () => { for (const other of document.querySelectorAll("audio")) if (other !== t) other.pause(); if (t !== take) { setLoop(false); stopAt = null; } choose(t); requestAnimationFrame(step); });
      t.addEventListener("seeked", show);
      t.addEventListener("ended", () => { if (looping) { seek(t, best[0]); play(); } });
    }
    for (const f of fields)
      f.svg.addEventListener("click", (event) => {
        const place = f.svg.getBoundingClientRect(), view = f.svg.viewBox.baseVal;
        const x = (event.clientX - place.left) / place.width * view.width;
        const time = f.from + (x - f.x) / f.width * (f.to - f.from), i = beatAt(time);
        if (x < f.x || x > f.x + f.width) return;
        player.focus({ preventScroll: true });
        if (i >= 0) { playBeat(i); return; }
        if (!holds(take, time)) return;
        setLoop(false);
        hold(-1);
        stopAt = null;
        seek(take, time);
        play();
      });
    player.addEventListener("click", (event) => {
      const name = event.target.dataset && event.target.dataset.do;
      if (name) act[name]();
    });
    player.addEventListener("keydown", (event) => {
      if (event.target.tagName === "AUDIO" || event.ctrlKey || event.altKey || event.metaKey) return;
      if (event.key === " " && event.target.tagName === "BUTTON") return;
      const name = { " ": "play", ArrowLeft: "back", ArrowRight: "on", r: "loop", R: "loop" }[event.key];
      const other = takes[Number(event.key) - 1];
      if (!name && !other) return;
      event.preventDefault();
      if (name) act[name]();
      else { const time = timeOf(take), was = !take.paused; choose(other); seek(other, holds(other, time) ? time : startOf(other)); if (was) play(); }
    });
    choose(take);
    player.querySelector(".controls").hidden = false;
    article.classList.add("interactive");
  };
  document.querySelectorAll("article").forEach(start);
})();
