import type { Action, Doc, Gesture, Hit, MarkKind, Pixel, Place, Point, Snap, Stroke } from "../types";

type Placing = { kind: MarkKind; points: readonly Point[] } | null;

/** All that a tool may see and do. No DOM, no network. */
export interface Bench {
  doc(): Doc;
  selection(): ReadonlySet<number>;
  select(ids: Iterable<number>): void;
  hit(at: Pixel, pointer: string): Hit;
  toPlane(at: Pixel): Point;
  toPixel(at: Point): Pixel;
  /** The place on the outer outline under a pointer. */
  onOutline(at: Pixel, pointer: string): Place | null;
  /** For a drag of what is held: where its place is drawn to. */
  magnet(held: Hit): (p: Point, pointer: string) => Point;
  unmagnet(): void;
  /** Where a pointer is drawn to: a point, the outline, or where it is. */
  snap(at: Pixel, pointer: string): Snap;
  chooseEdge(place: Place | null): void;
  chooseMark(id: string | null): void;
  stretch(end: { ring: number; id: number } | null): void;
  /** A point of the line that a stretch is made symmetric about. */
  axis(p: Point): void;
  /** The places that the tape is laid between, and how many it takes. */
  tape(ends: readonly Snap[]): void;
  tapeEnds(): number;
  placing(): Placing;
  setPlacing(p: Placing): void;
  /** A mark was drawn: it is chosen, and the tool goes back. */
  placed(id: string): void;
  say(text: string): void;
  pan(dx: number, dy: number): void;
  perform(action: Action, label: string): void;
  drag(action: Action, label: string): void;
  endDrag(): void;
  cancelDrag(): void;
  loupe(at: Point | null): void;
  ghost(at: Point | null): void;
  brushWidth(): number;
  brushAt(at: Point | null): void;
  wet(stroke: Stroke | null): void;
  stroke(stroke: Stroke): void;
}

export interface Tool {
  gesture(g: Gesture): void;
  cancel(): void;
}
