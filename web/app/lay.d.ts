/** Shapes of laying. The cloth frame: x along the length from the cut end, y across from one selvage or the fold, mm. */

import type { Cloth, Finding, Point, WirePoint } from "./types";

/** Where one piece lies: mirrored (x to -x) where it says so, turned counter-clockwise, moved. */
export interface Laid {
  readonly id: string; readonly piece: string; readonly name: string; readonly layers: number; readonly at_fold?: boolean; readonly fixed?: boolean;
  readonly x: number; readonly y: number; readonly rotation_deg: number; readonly mirrored: boolean;
}
export interface Turn { readonly rotation_deg: number; readonly mirrored: boolean }
/** A piece as it is laid, in its own frame. */
export interface LayShape {
  readonly id: string; readonly piece: string; readonly name: string; readonly layers: number; readonly at_fold?: boolean; readonly count: number;
  readonly outline_mm: readonly WirePoint[]; readonly top_deg: number; readonly turns: readonly Turn[];
}
/** A garment's cloth as it is laid on. */
export interface LayCloth {
  name?: string; width_mm: number; spread?: Spread; nap?: boolean; right_side_out?: boolean; gap_mm?: number; repeat_length_mm?: number; repeat_across_mm?: number;
  stripe_length_mm?: number; stripe_across_mm?: number; flaws_mm?: WirePoint[][]; remnant_mm?: WirePoint[]; length_mm?: number; price_per_m?: number; currency?: string;
}
export type Spread = "open" | "lengthwise" | "crosswise";
export interface LayPlan {
  cloth: LayCloth; laid_width_mm: number; laid_length_mm: number; need_mm: number; buy_mm: number; cost?: number; used_pct: number; bound_mm: number;
  pieces: Laid[]; findings?: Finding[] | null;
}
export interface Trouble extends Finding { copies: number[] | null }
export interface LayView { shapes?: LayShape[]; plan: LayPlan; troubles: Trouble[] }
export interface WidthRow { width_mm: number; laid_length_mm?: number; buy_mm?: number; used_pct?: number; cost?: number; why?: string; chart_mm?: number }
export interface Lay { cloth: string; pieces: Laid[] }
/** A cloth of the garment with how it is laid. */
export interface FullCloth extends Cloth {
  spread?: Spread; nap?: boolean; right_side_out?: boolean; gap_mm?: number; grain_tolerance_deg?: number; repeat_length_mm?: number; repeat_across_mm?: number;
  stripe_length_mm?: number; stripe_across_mm?: number; shrink_length_pct?: number; shrink_across_pct?: number; end_mm?: number; length_mm?: number;
  remnant_mm?: WirePoint[]; flaws_mm?: WirePoint[][]; price_per_m?: number; currency?: string;
}
/** What keeps pieces from a place. */
export interface Bed {
  readonly width: number; readonly length: number; readonly gap: number;
  readonly remnant: readonly Point[] | null; readonly flaws: readonly (readonly Point[])[];
}
/** What is in the way of a piece: another one by its number, a flaw, or the edge of the cloth. */
export type Clash = { readonly kind: "piece"; readonly index: number } | { readonly kind: "flaw" | "edge" };
/** What one works from, in the person's words; lengths mm. */
export interface Making {
  title: string; facts: string[]; prepare: string[]; changes: string[]; swatches: { name: string; picture?: string }[]; cautions: Finding[];
  pieces: { piece: string; name: string; letter: string; cut: string; cloth: string; side: string }[];
  cloths: { id: string; name: string; use: string; text: string; plan?: LayPlan }[];
  notions: { name: string; count: number; length_mm: number; text: string }[];
  seams: { name: string; a: string; b: string; a_mm: number; b_mm: number; ease_mm: number; allowance_a: string; allowance_b: string; notches: number }[];
  edges: { piece: string; edge: string; text: string }[];
  steps: { text: string; why?: string }[];
  marks: { letter: string; piece: string; text: string }[];
}
