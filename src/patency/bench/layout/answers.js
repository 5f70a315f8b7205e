// What a page answers is heard as well as seen; number pads and small confirmations.
(() => {
  "use strict";
  const TUNES = { good: [[880, 0.09], [1320, 0.14]], bad: [[220, 0.35]], stop: [[180, 0.2], [180, 0.2], [180, 0.3]] };
  let audio = null;

  function play(name) {
    const tune = TUNES[name];
    if (!tune || !window.AudioContext) return;
    audio = audio || new AudioContext();
    let at = audio.currentTime;
    document.documentElement.dataset.heard = name;
    for (const [pitch, length] of tune) {
      const tone = audio.createOscillator();
      const loud = audio.createGain();
      tone.type = "square";
      tone.frequency.value = pitch;
      loud.gain.value = 0.15;
      tone.connect(loud).connect(audio.destination);
      tone.start(at);
      tone.stop(at + length);
      at += length + 0.04;
    }
  }

  function look(root) {
    const told = root.matches && root.matches("[data-sound]") ? root : root.querySelector("[data-sound]");
    if (told) play(told.dataset.sound);
    for (const pad of root.querySelectorAll("[data-pad]")) pad.hidden = false;
  }

  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-digit]");
    if (!key) return;
    const field = document.getElementById(key.closest("[data-pad]").dataset.pad);
    field.value = key.dataset.digit ? field.value + key.dataset.digit : field.value.slice(0, -1);
  });
  // A page nobody touches is asked for again when its station is locked by then: instead of it stands the PIN.
  let lock = 0;
  function wait() {
    const { locksAfter, here } = document.body.dataset;
    clearTimeout(lock);
    if (locksAfter) lock = setTimeout(() => location.replace(here), (Number(locksAfter) + 1) * 1000);
  }

  for (const touch of ["keydown", "pointerdown", "wheel"]) document.addEventListener(touch, wait, { passive: true });
  document.addEventListener("DOMContentLoaded", () => { look(document.body); wait(); });
  document.addEventListener("htmx:after:swap", (event) => look(document.querySelector("main") || document.body));
})();
