// A picture of the holder to pass on: what stands on the glass, with its name and its one sentence, as a PNG.
const WIDE = 1600, EDGE = 60, LINE = 46, LETTERS = 2.4;
const KEPT = ["fill", "fill-opacity", "fill-rule", "stroke", "stroke-width", "stroke-dasharray", "stop-color", "font-family", "font-weight", "paint-order"];

// resolves to "copied", or to "saved" where the browser lets no picture onto the clipboard
export async function sharePicture(place, title, sentence, hand) {
  const made = drawnOn(await picture(place.querySelector("svg")), title, sentence, getComputedStyle(place));
  const png = await new Promise((resolve) => made.toBlob(resolve, "image/png"));
  try {
    await navigator.clipboard.write([new ClipboardItem({ "image/png": png })]);
    return "copied";
  } catch {
    hand(png, "my-holder.png");
    return "saved";
  }
}

// the drawing as an image: what the style sheet gives it goes into the drawing itself
function picture(svg) {
  const copy = svg.cloneNode(true), own = [svg, ...svg.querySelectorAll("*")];
  [copy, ...copy.querySelectorAll("*")].forEach((node, k) => {
    const style = getComputedStyle(own[k]);
    for (const name of KEPT) node.style.setProperty(name, style.getPropertyValue(name));
  });
  const larger = (WIDE - 2 * EDGE) / svg.getBoundingClientRect().width;  // letters need not grow as much
  for (const words of copy.querySelectorAll("text")) words.setAttribute("font-size", words.getAttribute("font-size") * Math.min(1, LETTERS / larger));
  const box = svg.viewBox.baseVal, high = Math.round((WIDE - 2 * EDGE) * box.height / box.width);
  copy.setAttribute("width", WIDE - 2 * EDGE);
  copy.setAttribute("height", high);
  return new Promise((resolve, reject) => {
    const image = new Image();
    image.onload = () => resolve(image);
    image.onerror = () => reject(new Error("the picture could not be drawn"));
    image.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(new XMLSerializer().serializeToString(copy));
  });
}

function drawnOn(image, title, sentence, style) {
  const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
  const font = (weight) => `${weight} 32px ${style.fontFamily}`;
  pen.font = font(400);
  const words = lines(pen, sentence, WIDE - 2 * EDGE);
  canvas.width = WIDE;
  canvas.height = image.height + 2 * EDGE + LINE * (words.length + 1);
  pen.fillStyle = getComputedStyle(document.body).backgroundColor;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(image, EDGE, EDGE);
  pen.fillStyle = style.color;
  pen.font = font(700);
  pen.fillText(title, EDGE, image.height + EDGE + LINE);
  pen.font = font(400);
  words.forEach((text, k) => pen.fillText(text, EDGE, image.height + EDGE + LINE * (k + 2)));
  return canvas;
}

function lines(pen, text, wide) {
  const found = [""];
  for (const word of text.split(" ")) {
    const longer = found.at(-1) ? `${found.at(-1)} ${word}` : word;
    if (pen.measureText(longer).width > wide) found.push(word); else found[found.length - 1] = longer;
  }
  return found;
}
