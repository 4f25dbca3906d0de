/** Viridis, from the public-domain table of matplotlib 3: every 17th entry, straight lines between them. */
const ANCHORS =
  "440154 481a6c 472f7d 414487 39568c 31688e 2a788e 23888e 1f988b 22a884 35b779 54c568 7ad151 a5db36 d2e21b fde725";

/** The anchors in hexadecimal, dark first. */
export const ANCHOR_CODES: readonly string[] = ANCHORS.split(" ");
export const COLOURS = 256;

/** Red, green and blue of the 256 colours, dark first, one after the other. */
export function viridis_channels(): Uint8Array {
  const anchors = ANCHOR_CODES.map((code) => [0, 2, 4].map((at) => parseInt(code.slice(at, at + 2), 16)));
  const channels = new Uint8Array(3 * COLOURS);
  for (let colour = 0; colour < COLOURS; colour++) {
    const place = (colour / (COLOURS - 1)) * (anchors.length - 1);
    const before = Math.min(Math.floor(place), anchors.length - 2);
    const share = place - before;
    for (let channel = 0; channel < 3; channel++) {
      const low = anchors[before]?.[channel] ?? 0;
      const high = anchors[before + 1]?.[channel] ?? 0;
      channels[3 * colour + channel] = Math.round(low + share * (high - low));
    }
  }
  return channels;
}

/** The colours as they lie in the memory of a picture: red, green, blue, opaque, byte by byte. */
export function viridis_pixels(): Uint32Array<ArrayBuffer> {
  const channels = viridis_channels();
  const bytes = new Uint8Array(4 * COLOURS);
  for (let colour = 0; colour < COLOURS; colour++) {
    bytes.set(channels.subarray(3 * colour, 3 * colour + 3), 4 * colour);
    bytes[4 * colour + 3] = 255;
  }
  return new Uint32Array(bytes.buffer);
}
