import type { Action, Doc, Gesture, Hit, Pixel, Point, Stroke } from "../types";

/** All that a tool may see and do. No DOM, no network. */
export interface Bench {
  doc(): Doc;
  selection(): ReadonlySet<number>;
  select(ids: Iterable<number>): void;
  hit(at: Pixel, pointer: string): Hit;
  toPlane(at: Pixel): Point;
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
