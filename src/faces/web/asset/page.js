// For comfort only: every page works without it.
"use strict";

// Counts down to the photo of each started test, by the time the page came: a phone's own clock may be wrong.
function countDown(line) {
  const [figure, words] = line.children;
  const came = performance.now();
  const tick = setInterval(() => {
    const seconds = Math.max(0, Math.ceil(Number(line.dataset.left) - (performance.now() - came) / 1000));
    figure.textContent = Math.floor(seconds / 60) + ":" + String(seconds % 60).padStart(2, "0");
    if (seconds > 0) return;
    clearInterval(tick);
    figure.textContent = "Take the photo now";
    words.textContent = ", until " + line.dataset.until;
    // Said aloud once, at the end only.
    const ring = document.getElementById("ring");
    if (ring) ring.textContent = line.dataset.test + ": take the photo now";
    if (navigator.vibrate && !matchMedia("(prefers-reduced-motion: reduce)").matches) navigator.vibrate([300, 200, 300]);
  }, 250);
}
for (const line of document.querySelectorAll("[data-left]")) countDown(line);

// The code that came with the address: a browser keeps what stands behind a # to itself.
const code = document.getElementById("code");
if (code && /^#[0-9A-Z]{4}-[0-9A-Z]{4}$/.test(location.hash)) {
  code.value = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
}
