/** Words that must fit a drawing. */

const FAMILY =
  'system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", "DejaVu Sans", sans-serif';
let pen: CanvasRenderingContext2D | null | undefined;

/** How wide a text is drawn, in pixels. */
export function widthOf(text: string, size: number): number {
  pen ??= typeof document === "undefined" ? null : document.createElement("canvas").getContext("2d");
  // Without a screen: a wide letter for each, so that nothing is cut by the edge.
  if (!pen) return text.length * size * 0.65;
  pen.font = `${size}px ${FAMILY}`;
  return pen.measureText(text).width;
}

/** The text if it fits, else its beginning with an ellipsis, both within the room; empty where not even two letters fit. */
export function fitted(text: string, room: number, size: number, measure = widthOf): string {
  if (measure(text, size) <= room) return text;
  let [fits, over] = [0, text.length];
  while (over - fits > 1) {
    const half = (fits + over) >> 1;
    if (measure(`${text.slice(0, half).trimEnd()}…`, size) <= room) fits = half;
    else over = half;
  }
  return fits < 2 ? "" : `${text.slice(0, fits).trimEnd()}…`;
}
