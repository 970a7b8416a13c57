/**
 * A picture of upright bars, set pixel by pixel: a canvas takes several times
 * as long for the twenty thousand rectangles of sixteen noisy lines as for one
 * picture of them (tests/bench/live.ts). Ends of a bar that lie within a pixel
 * are drawn as thin as they cover it, as a canvas draws them.
 */
export class BarPixels {
  readonly width: number;
  readonly height: number;
  /** Red, green, blue, opacity of each pixel, row by row, as an `ImageData` takes them. */
  readonly bytes: Uint8ClampedArray<ArrayBuffer>;
  readonly #words: Uint32Array;
  #ink = 0;
  #left = 0;
  #right = 0;
  #top = 0;
  #bottom = 0;

  /** @param width @param height of the picture, device pixels */
  constructor(width: number, height: number) {
    this.width = width;
    this.height = height;
    this.bytes = new Uint8ClampedArray(4 * width * height);
    // Lowest byte first, on all machines that browsers run on.
    this.#words = new Uint32Array(this.bytes.buffer);
  }

  clear(): void {
    this.#words.fill(0);
  }

  /** Bars are cut to this box, device pixels; whole ones that it touches count as in it from left to right. */
  clip(left: number, top: number, width: number, height: number): void {
    this.#left = Math.max(0, Math.floor(left));
    this.#right = Math.min(this.width, Math.ceil(left + width));
    this.#top = Math.max(0, top);
    this.#bottom = Math.min(this.height, top + height);
  }

  /** @param ink as `rgb(r,g,b)` */
  ink(ink: string): void {
    const [r = 0, g = 0, b = 0] = (ink.match(/\d+/g) ?? []).map(Number);
    this.#ink = (b << 16) | (g << 8) | r;
  }

  /** @param x first pixel @param columns its width in pixels @param top @param height device pixels with fractions */
  bar(x: number, columns: number, top: number, height: number): void {
    const from = Math.max(this.#left, x);
    const to = Math.min(this.#right, x + columns);
    const begin = Math.max(this.#top, top);
    const end = Math.min(this.#bottom, top + height);
    if (from >= to || !(begin < end)) return;
    const firstWhole = Math.ceil(begin);
    const lastWhole = Math.floor(end);
    const { width } = this;
    const words = this.#words;
    const opaque = (this.#ink | 0xff00_0000) >>> 0;
    for (let column = from; column < to; column++) {
      if (firstWhole > lastWhole) {
        this.#cover(lastWhole * width + column, end - begin);
        continue;
      }
      if (begin < firstWhole) this.#cover((firstWhole - 1) * width + column, firstWhole - begin);
      for (let row = firstWhole, at = row * width + column; row < lastWhole; row++, at += width) words[at] = opaque;
      if (end > lastWhole) this.#cover(lastWhole * width + column, end - lastWhole);
    }
  }

  /** The ink over a part of one pixel. */
  #cover(at: number, share: number): void {
    const before = this.#words[at]!;
    const below = (before >>> 24) / 255;
    const opacity = share + below * (1 - share);
    const mixed = (shift: number): number => {
      const over = (this.#ink >>> shift) & 0xff;
      const under = (before >>> shift) & 0xff;
      return Math.round((over * share + under * below * (1 - share)) / opacity) << shift;
    };
    this.#words[at] = (mixed(0) | mixed(8) | mixed(16) | (Math.round(255 * opacity) << 24)) >>> 0;
  }
}
