/** Shapes only. Millimetres run y up, pixels run y down; the optional frame keeps the two apart. */

/** A position or displacement in the plane frame, millimetres, y up. */
export interface Point { readonly x: number; readonly y: number; readonly frame?: "mm" }
/** A position or displacement on the screen, CSS pixels from the canvas's top left corner, y down. */
export interface Pixel { readonly x: number; readonly y: number; readonly frame?: "px" }

/** A point of a closed outline. Handles are absolute; null on both sides of a segment makes it a line. */
export interface Knot {
  readonly id: number;
  readonly at: Point;
  readonly in: Point | null;
  readonly out: Point | null;
  readonly corner: boolean;
}
/** A closed outline: knot i is joined to knot i+1 and the last to the first. */
export type Ring = readonly Knot[];

/** A stretch between two neighbouring knots; control points a, b, c, d. */
export interface Segment { readonly a: Point; readonly b: Point; readonly c: Point; readonly d: Point; readonly curved: boolean }

export interface Stretch { readonly from: Point; readonly to: Point; readonly why: string }
export type StrokeKind = "cloth" | "not-cloth";
export interface Stroke { readonly kind: StrokeKind; readonly width: number; readonly points: readonly Point[] }

/** A direction in degrees counter-clockwise from +x, with a certainty from 0 to 1. */
export interface Grain { readonly deg: number; readonly sure: number }
/** How sure the outline is, as the tracer said it. */
export interface Sure { readonly uncertainty: number; readonly fray: number; readonly unsure: readonly Stretch[]; readonly grain: Grain | null }

/** What is edited: rings[0] is the outer outline (counter-clockwise), the others are holes. Frozen. */
export interface Doc {
  readonly name: string;
  readonly rings: readonly Ring[];
  readonly strokes: readonly Stroke[];
  readonly sure: Sure;
}
/** An edit: takes a document and returns the changed one, or the same one where nothing changes. */
export type Action = (doc: Doc) => Doc;

export interface Entry { readonly doc: Doc; readonly label: string }
export interface History { readonly past: readonly Entry[]; readonly present: Entry; readonly future: readonly Entry[] }

/** Screen = scale * (x - left, top - y); scale in px per mm, left/top = plane point at the canvas's top left corner. */
export interface Viewport { readonly scale: number; readonly left: number; readonly top: number; readonly width: number; readonly height: number }

export interface Bounds { readonly minX: number; readonly minY: number; readonly maxX: number; readonly maxY: number }

/** A place on an outline: on the segment that begins at knot `id` of ring `ring`, at parameter t. */
export interface Place { readonly ring: number; readonly id: number; readonly t: number; readonly at: Point; readonly distance: number }

export type Hit =
  | { kind: "knot"; id: number }
  | { kind: "handle"; id: number; side: "in" | "out" }
  | { kind: "segment"; place: Place }
  | { kind: "none" };

/** What the gestures report; px is where, the deltas are in px since the last report. */
export type Gesture =
  | { type: "hover"; at: Pixel; pointer: string }
  | { type: "press" | "tap" | "double"; at: Pixel; pointer: string; extend: boolean }
  | { type: "dragstart" | "drag" | "dragend"; at: Pixel; from: Pixel; pointer: string; extend: boolean }
  | { type: "dragcancel" }
  | { type: "pan"; dx: number; dy: number }
  | { type: "pinch"; at: Pixel; factor: number; dx: number; dy: number };

/* ---- what the service sends ---- */

export type WirePoint = [number, number];
export interface WireKnot { at: WirePoint; in?: WirePoint; out?: WirePoint; corner: boolean }
export interface WireStretch { from_mm: WirePoint; to_mm: WirePoint; why: string }
export interface WireStroke { kind: StrokeKind; width_mm: number; points_mm: WirePoint[] }
export interface WirePiece {
  id: string; garment_id: string; photo_id: string; name: string; version: number; updated_at: string;
  knots: WireKnot[]; holes?: WireKnot[][] | null; strokes?: WireStroke[] | null;
  findings?: Finding[] | null;
  uncertainty_mm: number; fray_mm: number; unsure?: WireStretch[] | null; grain?: Grain | null;
}
export interface WireTracedPiece {
  knots: WireKnot[]; hole_knots?: WireKnot[][] | null;
  uncertainty_mm: number; fray_mm: number; unsure?: WireStretch[] | null; grain?: Grain | null;
}
export interface Card { id: number; used: boolean; measured_mm: number; centre_mm: WirePoint; turn_deg: number; why?: string }
export interface Finding { code: string; severity: "info" | "warning" | "error"; message: string; remedy?: string; where_mm?: WirePoint }
export interface Trace {
  pieces: WireTracedPiece[];
  calibration: { cards: Card[] | null; scale_uncertainty_pct: number; print_uncertainty_pct: number };
  findings: Finding[] | null;
}
export interface Refusal { code: string; message: string; remedy: string }
export interface Plane { px_per_mm: number; origin_mm: WirePoint; width: number; height: number }
export type Face = "right" | "wrong" | "";
/** What the rulers of the printed cards measure, mm; left out where not measured. */
export interface WirePrint { ruler_across_mm?: number; ruler_up_mm?: number }
/** The same on the page; null where not measured. */
export interface Print { readonly across: number | null; readonly up: number | null }
export interface Photo {
  id: string; garment_id: string; file_name: string; width: number; height: number; face: Face;
  status: "queued" | "tracing" | "traced" | "refused" | "failed"; job_id?: string;
  refusal?: Refusal | null; trace?: Trace | null; plane?: Plane | null; created_at: string;
  print?: WirePrint | null; print_changed?: boolean;
}
export interface Job {
  id: string; kind: string; photo_id: string;
  status: "queued" | "running" | "done" | "refused" | "failed" | "cancelled";
  step?: { name: string; index: number; count: number; text: string } | null;
  refusal?: Refusal | null; trace?: Trace | null;
}
export interface GarmentSummary { id: string; name: string; updated_at: string; piece_count: number; photo_count: number }
export interface PieceSummary { id: string; photo_id: string; name: string; version: number }
export interface Garment { id: string; name: string; version: number; updated_at: string; photos: Photo[] | null; pieces: PieceSummary[] | null }
export interface Lan { enabled: boolean; url?: string; qr_svg?: string }

/** A photo on its way to the service; the file stays in hand until the service has it. */
export interface Upload {
  readonly key: string; readonly garment: string; readonly file: File; readonly face: Face; readonly print: Print;
  readonly state: "sending" | "unsent" | "rejected";
  readonly problem?: { title: string; remedy: string };
}

export type SaveState =
  | { kind: "saved" } | { kind: "waiting" } | { kind: "saving" }
  | { kind: "unsent"; why: string } | { kind: "rejected"; why: string }
  | { kind: "conflict"; theirs: WirePiece; etag: string };
