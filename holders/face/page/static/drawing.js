// A drawing from the server, put into a shadow root of its own: its names and styles stay apart from the page's, and it
// is there in half the time of an image, for which the browser would make a document of its own.
const shown = new WeakMap();

// that a drawing can be slid is said where it is wider than its place
const watch = new ResizeObserver((seen) => {
  for (const { target } of seen) { const box = target.closest(".scroll"); box.classList.toggle("slides", box.scrollWidth > box.clientWidth + 1); }
});
export function slides() { for (const box of document.querySelectorAll(".scroll")) for (const one of [box, ...box.children]) watch.observe(one); }

export function draw(place, svg, words) {
  place.setAttribute("role", "img");
  place.setAttribute("aria-label", words);
  if (shown.get(place) === svg) return;
  shown.set(place, svg);
  const root = place.shadowRoot || place.attachShadow({ mode: "open" });
  root.innerHTML = svg.slice(svg.indexOf("<svg"));
  const made = root.firstElementChild;
  made.setAttribute("part", "drawing");
  made.querySelector("title").remove();  // a browser would show it under the pointer
}
