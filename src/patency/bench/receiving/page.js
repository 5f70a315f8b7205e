// A bath's button counts its time down and is heard when it is over.
(() => {
  "use strict";
  for (const button of document.querySelectorAll("[data-left]")) {
    const words = button.textContent;
    const begun = Date.now();
    const whole = Number(button.dataset.left);
    const count = () => {
      const left = Math.max(0, whole - Math.floor((Date.now() - begun) / 1000));
      button.textContent = words.replace(String(whole), String(left));
      button.dataset.over = String(left === 0);
      if (left > 0) setTimeout(count, 1000);
    };
    count();
  }
})();
