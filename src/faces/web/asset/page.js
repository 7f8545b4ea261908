// For comfort only: every page works without it.
"use strict";

// Counts down to the photo of a started test.
for (const left of document.querySelectorAll("[data-ready]")) {
  const ready = Number(left.dataset.ready) * 1000;
  const timer = setInterval(() => {
    const seconds = Math.max(0, Math.ceil((ready - Date.now()) / 1000));
    left.textContent = Math.floor(seconds / 60) + ":" + String(seconds % 60).padStart(2, "0");
    if (seconds === 0) {
      clearInterval(timer);
      const ring = document.getElementById("ring");
      if (ring) ring.textContent = "Take the photo now";
      left.parentElement.firstChild.after(" Take the photo now.");
      if (navigator.vibrate) navigator.vibrate([300, 200, 300]);
    }
  }, 250);
}

// The code that came with the address: a browser keeps what stands behind a # to itself.
const code = document.getElementById("code");
if (code && /^#[0-9A-Z]{4}-[0-9A-Z]{4}$/.test(location.hash)) {
  code.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
}
