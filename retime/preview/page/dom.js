// Elements made and found. Texts go in as text alone, never as markup.
const dom = (() => {
  const SVG = "http://www.w3.org/2000/svg";
  const byId = (id) => document.getElementById(id);

  function filled(element, attributes, children) {
    for (const [name, value] of Object.entries(attributes)) {
      if (value === true) element.setAttribute(name, "");
      else if (value !== false && value !== null) element.setAttribute(name, value);
    }
    element.append(...children);
    return element;
  }

  const make = (tag, attributes = {}, ...children) =>
    filled(document.createElement(tag), attributes, children);

  const draw = (tag, attributes = {}, ...children) =>
    filled(document.createElementNS(SVG, tag), attributes, children);

  function button(text, does, attributes = {}) {
    const made = make("button", { type: "button", ...attributes }, text);
    made.addEventListener("click", does);
    return made;
  }

  // A name from a map may run in either direction, without turning what stands around it.
  const name = (text) => make("bdi", {}, text);

  // Texts change many times a second while a film plays: only what is new is written.
  function write(element, text) {
    if (element.textContent !== text) element.textContent = text;
  }

  function press(element, pressed) {
    element.setAttribute("aria-pressed", String(pressed));
  }

  // Told to those who listen, and shown at the foot of the window for a while.
  let fading = 0;
  function say(text) {
    const place = byId("said");
    place.textContent = text;
    clearTimeout(fading);
    fading = setTimeout(() => {
      place.textContent = "";
    }, 5000);
  }

  // Nothing that was said stays when it could tell what is to be hidden.
  function hush() {
    clearTimeout(fading);
    byId("said").textContent = "";
  }

  function save(name, text) {
    const address = URL.createObjectURL(new Blob([text], { type: "application/yaml" }));
    const link = make("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
    say(`Saved as ${name}.`);
  }

  // Where the clipboard is not to be had, the text is left selected, to be copied by hand.
  async function copy(area) {
    try {
      await navigator.clipboard.writeText(area.value);
      say("Copied.");
    } catch {
      area.focus();
      area.select();
      say("Selected: copy it with your browser's own key.");
    }
  }

  // So many pixels to a rem.
  const rem = () => parseFloat(getComputedStyle(document.documentElement).fontSize);

  const still = matchMedia("(prefers-reduced-motion: reduce)");

  return { byId, make, draw, button, name, write, press, say, hush, save, copy, rem, still };
})();
