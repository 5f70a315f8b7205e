// A scanner that types like a keyboard works wherever the focus is; a foot pedal is the key F9.
// GS, which separates the parts of a GS1 code, arrives as Ctrl+] and would be lost in a text field: it is kept.
(() => {
  "use strict";
  // Between two keys of a scanner; people type slower. A slow scanner or station may be given more.
  const quickMs = () => Number(document.documentElement.dataset.scanMs || 45);
  const LEAST_KEYS = 4;
  let burst = null;
  const early = []; // keys that come while the page is still being read: the first characters of a code are in them

  const scanField = () =>
    document.querySelector("main [data-scan-field]") || document.querySelector("[data-scan-field]");
  const takesText = (element) =>
    element instanceof HTMLElement && element.matches("input:not([type=checkbox]):not([type=radio]), textarea, select");

  function add(field, text) {
    field.focus();
    field.setRangeText(text, field.selectionStart, field.selectionEnd, "end");
  }

  function follow(event, text) {
    const last = burst;
    if (last && event.timeStamp - last.at < quickMs()) {
      last.text += text;
      last.at = event.timeStamp;
      return;
    }
    const from = event.target;
    burst = { text, at: event.timeStamp, from, before: takesText(from) ? from.value : "" };
  }

  function scanned(field, text) {
    field.value = text;
    burst = null;
    field.form.requestSubmit();
  }

  function handle(event) {
    const field = scanField();
    if (event.isComposing) return;
    if (event.key === "F9") {
      const act = document.querySelector("[data-pedal]");
      if (act) { event.preventDefault(); act.click(); }
      return;
    }
    if (!field) return;
    const separator = (event.ctrlKey && event.code === "BracketRight") || event.key === "F8";
    if (!separator && (event.ctrlKey || event.altKey || event.metaKey)) return;
    const text = separator ? "\x1d" : event.key;
    const elsewhere = takesText(event.target) && event.target !== field;
    if (text.length === 1) {
      const began = burst && event.timeStamp - burst.at < quickMs();
      if (!began && text === " " && event.target.matches("button, a, summary")) return; // a person presses a button
      follow(event, text);
      if (elsewhere && !separator) return; // stays where it was typed unless it turns out to be a scan
      event.preventDefault();
      if (!elsewhere) add(field, text);
      return;
    }
    if (event.key !== "Enter") return;
    const quick = burst && burst.text.length >= LEAST_KEYS && event.timeStamp - burst.at < quickMs() * 3;
    if (elsewhere && quick) {
      event.preventDefault();
      burst.from.value = burst.before;
      scanned(field, burst.text);
    } else if (!elsewhere && field.value && (event.target === field || quick)) {
      event.preventDefault();
      scanned(field, field.value);
    }
  }

  document.addEventListener("keydown", (event) => {
    const isSeparator = event.ctrlKey && event.code === "BracketRight";
    const other = event.ctrlKey || event.altKey || event.metaKey || event.key === "Tab";
    const elsewhere = takesText(event.target) && event.target !== scanField();
    if (document.readyState !== "loading" || elsewhere || (other && !isSeparator)) { handle(event); return; }
    early.push(event);
    event.preventDefault();
  }, true);
  document.addEventListener("DOMContentLoaded", () => early.splice(0).forEach(handle));
})();
