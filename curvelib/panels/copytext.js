// Text with a button that copies it; shown with textContent, so it is never markup.

function render({ model, el }) {
  const button = document.createElement("button");
  const block = document.createElement("pre");
  button.className = "cv-copy-button jupyter-button";
  block.className = "cv-copy-text";
  block.tabIndex = 0;
  el.classList.add("cv-copy");
  el.append(button, block);

  const show = () => {
    block.textContent = model.get("text");
    button.textContent = model.get("label");
  };

  // A page not served over https or from this machine has no clipboard; selecting works anywhere.
  async function copy() {
    try {
      await navigator.clipboard.writeText(model.get("text"));
      button.textContent = "Copied";
    } catch {
      getSelection().selectAllChildren(block);
      button.textContent = "Selected: press Ctrl+C";
    }
  }

  button.addEventListener("click", copy);
  model.on("change:text change:label", show);
  show();
  return () => model.off("change:text change:label", show);
}

export default { render };
