// A picture of fixed size that changes without flicker and reports the pointer.
// The bytes come with the widget's state; nothing is fetched from anywhere.

function render({ model, el }) {
  const img = document.createElement("img");
  img.className = "cv-picture";
  img.role = "img";
  img.tabIndex = 0;
  img.draggable = false;
  img.decoding = "sync"; // a picture is painted whole or not yet
  img.dataset.shown = "0"; // pictures shown so far
  el.classList.add("cv-picture-box");
  el.append(img);

  const stopPicture = showPictures(model, img);
  const stopPointer = reportPointer(model, img);
  return () => {
    stopPicture();
    stopPointer();
  };
}

function showPictures(model, img) {
  let url = null; // the Blob URL on show
  let waiting = false; // a newer picture came while one was being decoded
  let busy = false;

  // One picture at a time, and then the newest: a slow browser skips pictures
  // but never falls behind and never starves.
  async function show() {
    waiting = true;
    if (busy) return;
    busy = true;
    img.dataset.busy = "true";
    while (waiting) {
      waiting = false;
      await showNewest();
    }
    busy = false;
    img.dataset.busy = "false"; // what is on show is the newest
  }

  async function showNewest() {
    const bytes = model.get("png");
    if (!bytes || !bytes.byteLength) return;
    const old = url;
    url = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
    try {
      const next = new Image();
      next.src = url;
      await next.decode(); // the old picture stays on show meanwhile
      img.src = url; // already decoded, so at once
      await img.decode();
      img.dataset.shown = String(Number(img.dataset.shown) + 1);
    } catch (error) {
      console.error("curvelib: a picture could not be decoded", error);
    }
    if (old) URL.revokeObjectURL(old);
  }

  function describe() {
    img.alt = model.get("alt");
  }

  function size() {
    img.width = model.get("width");
    img.height = model.get("height");
    img.style.aspectRatio = `${img.getAttribute("width")} / ${img.getAttribute("height")}`;
  }

  model.on("change:png", show);
  model.on("change:alt", describe);
  model.on("change:width change:height", size);
  size();
  describe();
  show();
  return () => {
    model.off("change:png", show);
    model.off("change:alt", describe);
    model.off("change:width change:height", size);
    if (url) URL.revokeObjectURL(url);
  };
}

function reportPointer(model, img) {
  let frame = 0; // the animation frame asked for, 0 for none
  let last = null;

  function send() {
    cancelAnimationFrame(frame);
    frame = 0;
    model.set("pointer", last);
    model.save_changes();
  }

  function note(event, down) {
    const box = img.getBoundingClientRect();
    const wide = img.naturalWidth || box.width;
    const high = img.naturalHeight || box.height;
    const within = (share) => Math.min(1, Math.max(0, share));
    last = {
      x: wide * within((event.clientX - box.left) / box.width),
      y: high * within((event.clientY - box.top) / box.height),
      down,
    };
  }

  // Moves wait for the next frame; press and release go at once, so that a
  // quick click is never merged into one event.
  img.addEventListener("pointermove", (event) => {
    note(event, (event.buttons & 1) === 1);
    if (!frame) frame = requestAnimationFrame(send);
  });
  img.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    img.setPointerCapture(event.pointerId); // a drag goes on beyond the edge
    note(event, true);
    send();
  });
  for (const kind of ["pointerup", "pointercancel"]) {
    img.addEventListener(kind, (event) => {
      note(event, false);
      send();
    });
  }
  return () => cancelAnimationFrame(frame);
}

export default { render };
