// Pictures out of the page: SVG as text, PNG as an image, on the clipboard or, where that is refused, as a file.
import { said } from "../store";

const DRAWN = [
  "fill", "fill-opacity", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin", "stroke-linecap",
  "stroke-opacity", "paint-order", "font-size", "font-weight", "text-anchor", "dominant-baseline", "opacity",
] as const;
const FONT = "Atkinson Hyperlegible Next, Atkinson Hyperlegible, system-ui, sans-serif";

/** A colour or any other value of the style sheet. */
export function css(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

/** An SVG of the page as a file of its own: colours and type written into it, nothing looked up elsewhere. */
export function standing_alone(drawn: SVGSVGElement): string {
  const copy = drawn.cloneNode(true) as SVGSVGElement;
  const before = [drawn, ...drawn.querySelectorAll<SVGElement>("*")];
  const after = [copy, ...copy.querySelectorAll<SVGElement>("*")];
  before.forEach((element, index) => {
    const target = after[index];
    if (!target) return;
    const style = getComputedStyle(element);
    for (const property of DRAWN) {
      const value = style.getPropertyValue(property);
      if (value) target.setAttribute(property, value);
    }
    for (const name of ["class", "style", "tabindex", "role"]) target.removeAttribute(name);
    if (style.display === "none" || style.visibility === "hidden") target.setAttribute("display", "none");
  });
  const size = drawn.getBoundingClientRect();
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("width", String(Math.round(size.width)));
  copy.setAttribute("height", String(Math.round(size.height)));
  copy.setAttribute("font-family", FONT);
  const box = copy.viewBox.baseVal;
  const ground = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  const place = box && box.width ? [box.x, box.y, box.width, box.height] : [0, 0, size.width, size.height];
  ["x", "y", "width", "height"].forEach((name, index) => ground.setAttribute(name, String(place[index])));
  ground.setAttribute("fill", css("--card"));
  copy.insertBefore(ground, copy.firstChild);
  return new XMLSerializer().serializeToString(copy);
}

export async function copy_text(text: string, what: string): Promise<void> {
  try {
    await navigator.clipboard.writeText(text);
    said.value = `${what} is on the clipboard.`;
  } catch {
    save_file(new Blob([text], { type: "text/plain" }), "copy.txt");
    said.value = `The clipboard is not open to this page; ${what} was saved as a file.`;
  }
}

export async function copy_svg(svg: string, name: string): Promise<void> {
  try {
    await navigator.clipboard.writeText(svg);
    said.value = `“${name}” is on the clipboard as SVG.`;
  } catch {
    save_file(new Blob([svg], { type: "image/svg+xml" }), `${name}.svg`);
    said.value = `The clipboard is not open to this page; “${name}” was saved as a file.`;
  }
}

export async function copy_png(svg: string, name: string): Promise<void> {
  let png: Blob;
  try {
    png = await rasterised(svg);
  } catch {
    said.value = `“${name}” could not be turned into a PNG; its SVG can be copied.`;
    return;
  }
  try {
    await navigator.clipboard.write([new ClipboardItem({ "image/png": png })]);
    said.value = `“${name}” is on the clipboard as PNG.`;
  } catch {
    save_file(png, `${name}.png`);
    said.value = `The clipboard is not open to this page; “${name}” was saved as a file.`;
  }
}

async function rasterised(svg: string): Promise<Blob> {
  const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = 2 * image.naturalWidth;
    canvas.height = 2 * image.naturalHeight;
    canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((resolve, reject) =>
      canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("no picture"))), "image/png"),
    );
  } finally {
    URL.revokeObjectURL(address);
  }
}

function save_file(blob: Blob, name: string): void {
  const anchor = document.createElement("a");
  anchor.href = URL.createObjectURL(blob);
  anchor.download = name;
  anchor.click();
  setTimeout(() => URL.revokeObjectURL(anchor.href), 10_000);
}
