// Comfort for sending photos: every page works without it.
"use strict";

// Shows the photos that were chosen, as the browser can.
function preview(form) {
  const place = form.querySelector("[data-previews]");
  form.addEventListener("change", () => {
    place.replaceChildren();
    for (const input of form.querySelectorAll("input[type=file]")) {
      for (const file of [...input.files].slice(0, 6)) {
        const img = new Image();
        img.alt = "Chosen: " + file.name;
        img.onload = () => URL.revokeObjectURL(img.src);
        img.onerror = () => img.replaceWith(file.name);
        img.src = URL.createObjectURL(file);
        place.append(img);
      }
    }
  });
}

// Sends the form with its progress, once.
function send(form) {
  const button = form.querySelector("button");
  const said = form.querySelector("[data-progress]");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (button.disabled) return;
    button.disabled = true;
    const bar = document.createElement("progress");
    bar.max = 1;
    const words = document.createElement("span");
    words.textContent = "Sending";
    said.replaceChildren(words, bar);
    const request = new XMLHttpRequest();
    request.upload.onprogress = (e) => {
      if (e.lengthComputable) bar.value = e.loaded / e.total;
    };
    request.upload.onload = () => {
      words.textContent = "Reading";
      bar.removeAttribute("value");
    };
    request.onload = () => {
      if (request.status < 400) return location.assign(request.responseURL);
      const main = new DOMParser().parseFromString(request.responseText, "text/html").querySelector("main");
      if (main) document.querySelector("main").replaceWith(document.adoptNode(main));
      else said.textContent = "The server did not answer. Send it once more; nothing is doubled.";
      wake();
      scrollTo(0, 0);
    };
    request.onerror = () => {
      button.disabled = false;
      said.textContent = "The photo did not get through. Send it once more; nothing is doubled.";
    };
    request.open("POST", form.action);
    request.send(new FormData(form));
  });
}

// Asks again for what is still being read.
async function again() {
  while (document.querySelector("[data-again]")) {
    await new Promise((wake) => setTimeout(wake, 1000));
    try {
      const answer = await fetch(location.href);
      const main = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("main");
      const now = document.querySelector("main");
      if (main && main.innerHTML !== now.innerHTML) now.replaceWith(document.adoptNode(main));
    } catch {
      // The server is away: ask once more.
    }
  }
}

function wake() {
  for (const form of document.querySelectorAll("form[data-send]")) {
    preview(form);
    send(form);
  }
  again();
}

// A page gone back to has its form as it was left; it may be sent again.
addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});
wake();
