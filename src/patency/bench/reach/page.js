// The load as a view that turns. The server computes, view.js draws; here the view is turned, and pieces are chosen and
// dragged.
// Without WebGL the page of pictures from four sides is shown instead.
(() => {
  "use strict";
  const box = document.getElementById("reach");
  if (!box) return;
  const view = document.getElementById("view");
  const state = document.getElementById("state");
  const told = document.getElementById("told");
  const chooser = document.getElementById("piece");
  const dragging = document.getElementById("drag");
  const nudges = document.getElementById("nudges");
  const near = document.getElementById("near");
  const toPictures = () => location.replace(box.dataset.pictures);
  const hasWebGL = () => {
    try { return Boolean(document.createElement("canvas").getContext("webgl2")); } catch { return false; }
  };
  if (!hasWebGL()) { toPictures(); return; }

  const asked = async (path) => {
    const answer = await fetch(path, { headers: { accept: "application/json" } });
    if (answer.ok) return answer.json();
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    throw new Error(page.querySelector("main .told")?.textContent.trim() || String(answer.status));
  };

  const start = (drawn, sides, scene) => {
    let moves = scene.m;
    let waiting = 0;
    let last = Promise.resolve();
    const chosen = () => (chooser.value === "" ? -1 : Number(chooser.value));
    const path = (what, more) => {
      const query = new URLSearchParams(moves.map((one) => ["m", one]));
      Object.entries(more).forEach(([name, value]) => query.set(name, value));
      return `${box.dataset.path}${what}?${query}`;
    };
    const say = (words, bad) => {
      state.textContent = words;
      state.hidden = !words;
      state.classList.toggle("fault", bad);
    };
    // What matters most of it stands in the view as well, which is in sight where the rest is not.
    const tell = (answer) => {
      const further = String(answer.m) !== String(moves);
      moves = answer.m;
      const opened = Boolean(told.querySelector("details[open]"));
      told.innerHTML = answer.told;  // our own template, escaped by the server
      told.querySelectorAll("details").forEach((one) => { one.open = opened; });
      const brief = [...told.querySelectorAll(".brief")].map((one) => one.textContent.trim().replace(/\s+/g, " "));
      say(brief.join(" · "), Boolean(told.querySelector(".fault")));
      const which = chosen() < 0 ? {} : { piece: chosen() };
      document.getElementById("to-pictures").href = path("", { as: "pictures", ...which });
      history[further ? "pushState" : "replaceState"](null, "", path("", which));
    };
    const answered = async (piece, more) => {
      try {
        const answer = await asked(path("/moved", { piece, ...more }));
        Object.entries(answer.changed).forEach(([number, one]) => drawn.show(drawn.bodies[number], one));
        if (piece === chosen()) tell(answer); else moves = answer.m;
      } catch (fault) {
        drawn.carry(piece, 0, 0);
        say(`${box.dataset.failed} (${fault.message})`, true);
      }
      waiting -= 1;
      if (!waiting) delete view.dataset.busy;
      drawn.turn(0, 0);
    };
    // One after the other: what is pressed while the last is computed is not lost.
    const ask = (more) => {
      const piece = chosen();
      if (piece < 0) return;
      waiting += 1;
      view.dataset.busy = "yes";
      say(box.dataset.busy, false);
      last = last.then(() => answered(piece, more));
    };
    const choose = (number) => {
      chooser.value = number < 0 ? "" : String(number);
      drawn.mark(chosen());
      nudges.disabled = dragging.disabled = near.disabled = chosen() < 0;
      ask({});
    };

    Object.entries(scene.names).sort((one, other) => one[1].localeCompare(other[1])).forEach(([number, name]) => {
      chooser.add(new Option(name, number));
    });
    chooser.disabled = false;
    tell(scene);
    if (box.dataset.chosen) choose(Number(box.dataset.chosen));
    chooser.addEventListener("change", () => choose(chosen()));
    document.getElementById("moving").addEventListener("submit", (event) => {
      event.preventDefault();
      if (event.submitter?.value) ask({ nudge: event.submitter.value });
    });
    document.querySelectorAll("[data-side]").forEach((one) => {
      one.addEventListener("click", () => drawn.from(sides[one.dataset.side]));
    });
    dragging.addEventListener("click", () => {
      const moving = dragging.getAttribute("aria-pressed") !== "true";
      dragging.setAttribute("aria-pressed", String(moving));
      view.classList.toggle("moving", moving);
    });
    near.addEventListener("click", () => drawn.near(chosen()));
    told.addEventListener("click", (event) => {
      const piece = event.target.closest("[data-piece]")?.dataset.piece;
      if (!piece) return;
      event.preventDefault();
      choose(Number(piece));
    });
    addEventListener("popstate", () => location.reload());
    fingers(drawn, choose, chosen, (way) => ask({ shift: way.map((one) => (1000 * one).toFixed(1)).join(",") }));
    keys(drawn, sides.front);
    view.dataset.ready = "yes";
  };

  // One finger or the mouse turns, or moves the chosen piece; two fingers shift the view and bring it nearer.
  const fingers = (drawn, choose, chosen, shifted) => {
    const down = new Map();
    let began = null;
    let far = 0;
    const moving = () => dragging.getAttribute("aria-pressed") === "true" && !nudges.disabled;
    // A second finger, or a hand that the browser takes away, leaves the piece where it stood.
    const leave = () => {
      if (began && moving()) drawn.carry(chosen(), 0, 0);
      began = null;
    };
    view.addEventListener("pointerdown", (event) => {
      view.setPointerCapture(event.pointerId);
      down.set(event.pointerId, event);
      if (down.size === 1) [began, far] = [event, 0];
      else leave();
    });
    view.addEventListener("pointermove", (event) => {
      const before = down.get(event.pointerId);
      if (!before) return;
      const [right, below] = [event.clientX - before.clientX, event.clientY - before.clientY];
      far += Math.hypot(right, below);
      const other = [...down.values()].find((one) => one.pointerId !== event.pointerId);
      if (other) {
        const apart = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        drawn.shift(right / 2, -below / 2);
        drawn.nearer(apart(before) / Math.max(apart(event), 1));
      } else if (event.shiftKey || event.buttons === 4) {
        drawn.shift(right, -below);
      } else if (!moving()) {
        drawn.turn(-0.4 * right, 0.4 * below);
      } else if (began) {
        drawn.carry(chosen(), event.clientX - began.clientX, began.clientY - event.clientY);
      }
      down.set(event.pointerId, event);
    });
    const up = (event) => {
      if (!down.delete(event.pointerId) || down.size || !began) return;
      if (event.type === "pointercancel") {
        leave();
      } else if (far < 6) {
        const number = drawn.at(event);
        if (number >= 0) choose(number);
      } else if (moving()) {
        shifted(drawn.across(event.clientX - began.clientX, began.clientY - event.clientY));
      }
      began = null;
    };
    view.addEventListener("pointerup", up);
    view.addEventListener("pointercancel", up);
    view.addEventListener("wheel", (event) => {
      event.preventDefault();
      drawn.nearer(event.deltaY > 0 ? 1.1 : 1 / 1.1);
    }, { passive: false });
  };

  // No letters or signs: those are a scanner's.
  const keys = (drawn, front) => {
    const acts = {
      ArrowLeft: () => drawn.turn(10, 0), ArrowRight: () => drawn.turn(-10, 0),
      ArrowUp: () => drawn.turn(0, 10), ArrowDown: () => drawn.turn(0, -10),
      PageUp: () => drawn.nearer(0.8), PageDown: () => drawn.nearer(1.25), Home: () => drawn.from(front),
    };
    view.addEventListener("keydown", (event) => {
      const act = acts[event.key];
      if (!act || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      act();
    });
  };

  const open = async () => {
    try {
      const [three, { View, SIDES }, scene] = await Promise.all([
        import(box.dataset.three), import(box.dataset.view), asked(`${box.dataset.path}/scene${box.dataset.query}`)]);
      start(new View(three, scene, view), SIDES, scene);
    } catch (fault) {
      state.textContent = box.dataset.failed;
      throw fault;
    }
  };
  open();
})();
