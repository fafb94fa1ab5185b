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

export interface Stretch { readonly from: Point; readonly to: Point; readonly why: string; readonly uncertainty?: number }
export type StrokeKind = "cloth" | "not-cloth";
export interface Stroke { readonly kind: StrokeKind; readonly width: number; readonly points: readonly Point[] }

/** A direction in degrees counter-clockwise from +x, with a certainty from 0 to 1. */
export interface Grain { readonly deg: number; readonly sure: number }
/** How sure the outline is, as the tracer said it. */
export interface Sure { readonly uncertainty: number; readonly fray: number; readonly unsure: readonly Stretch[]; readonly grain: Grain | null }

/** What lies outside the old stitch line of a traced edge. */
export type Old = { readonly is: "unknown" | "none" } | { readonly is: "length"; readonly mm: number };
export type FinishKind = "keep" | "seam" | "hem" | "casing" | "faced" | "bound" | "fold";
/** What becomes of an edge, as the garment file writes it; lengths in mm. */
export interface Finish {
  readonly kind: FinishKind;
  readonly allowance_mm?: number; readonly end_mm?: number;
  readonly depth_mm?: number; readonly turns?: number; readonly turn_under_mm?: number;
  readonly holds?: "elastic" | "cord"; readonly width_mm?: number; readonly ease_mm?: number; readonly opening_mm?: number;
  readonly elastic?: { readonly body_mm: number; readonly [more: string]: number | string };
}
/** A stretch of the outer outline, from the knot with this id up to where the next edge begins. */
export interface Edge { readonly id: string; readonly name: string; readonly knot: number; readonly old: Old; readonly finish: Finish }
export type MarkKind = "grain" | "notch" | "snip" | "fold-line" | "stitch-line" | "line" | "drill-hole" | "buttonhole" | "lengthen-line" | "dart" | "text";
/** A mark: on an edge by id and fraction, or by points and degrees in the plane frame. */
export interface Mark {
  readonly id: string; readonly kind: MarkKind;
  readonly edge?: string; readonly at?: number;
  readonly points?: readonly Point[]; readonly deg?: number; readonly bias?: boolean;
  readonly count?: number; readonly shape?: "slit" | "v" | "t"; readonly depth_mm?: number; readonly outward?: boolean; readonly width_mm?: number;
  readonly text?: string; readonly detached?: string;
}
export interface Cut { readonly cloth?: string; readonly count: number; readonly mirrored?: boolean }
export interface Label { readonly cuts?: readonly Cut[]; readonly size_worn?: string; readonly size_measured?: string; readonly notes?: string }
export type Means = "cut-edge" | "stitch-line";
/** From plane to piece frame: turn (radians, counter-clockwise), then move (mm). */
export interface Rigid { readonly turn: number; readonly move: Point }
/** What a piece becomes: kept beside its outline. Edges are null while the service lays them on a new outline. */
export interface Plan {
  readonly edges: readonly Edge[] | null;
  readonly lost: readonly Edge[];
  readonly marks: readonly Mark[];
  readonly label: Label | null;
  readonly means: Means;
  /** Null where the service knows no plan. */
  readonly frame: Rigid | null;
}

/** What is edited: rings[0] is the outer outline (counter-clockwise), the others are holes. Frozen. */
export interface Doc extends Plan {
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

/** What one can have in hand. */
export type ToolName = "look" | "move" | "add" | StrokeKind | "stretch" | "measure" | "edge" | "mark" | "place" | "axis";
/** A place that a pointer was drawn to, and why: a point of the outline, the outline, or nothing. */
export interface Snap { readonly at: Point; readonly to: "point" | "edge" | ""; readonly place: Place | null }

export type Hit =
  | { kind: "knot"; id: number }
  | { kind: "handle"; id: number; side: "in" | "out" }
  | { kind: "segment"; place: Place }
  | { kind: "none" };

/** What the gestures report; px is where, the deltas are in px since the last report. */
export type Gesture =
  | { type: "hover"; at: Pixel; pointer: string }
  | { type: "press" | "tap" | "double"; at: Pixel; pointer: string; extend: boolean }
  | { type: "dragstart" | "drag" | "dragend"; at: Pixel; from: Pixel; pointer: string; extend: boolean; free?: boolean }
  | { type: "dragcancel" }
  | { type: "pan"; dx: number; dy: number }
  | { type: "pinch"; at: Pixel; factor: number; dx: number; dy: number };

/* ---- what the service sends ---- */

export type WirePoint = [number, number];
export interface WireKnot { at: WirePoint; in?: WirePoint; out?: WirePoint; corner: boolean }
export interface WireStretch { from_mm: WirePoint; to_mm: WirePoint; why: string; uncertainty_mm?: number }
export interface WireStroke { kind: StrokeKind; width_mm: number; points_mm: WirePoint[] }
export interface WireEdge { id: string; name: string; knot: number; old_allowance?: Old | null; finish?: Finish | null }
export interface WireMark extends Omit<Mark, "points"> { points_mm?: WirePoint[] }
export interface WirePlan {
  edges?: WireEdge[] | null; lost_edges?: WireEdge[] | null; marks?: WireMark[] | null; label?: Label | null;
  outline_means?: Means | ""; plane_to_piece?: { turn: number; move: WirePoint } | null;
}
export interface WirePiece extends WirePlan {
  id: string; garment_id: string; photo_id: string; name: string; version: number; updated_at: string;
  knots: WireKnot[]; holes?: WireKnot[][] | null; strokes?: WireStroke[] | null;
  findings?: Finding[] | null;
  uncertainty_mm: number; fray_mm: number; unsure?: WireStretch[] | null; grain?: Grain | null;
}
/** A row of old needle holes beside an edge. */
export interface StitchRow { from_mm: WirePoint; to_mm: WirePoint; distance_mm: number; sure: number }
/** An edge as the photo shows it, and what each stretch of the clean edge leaves open; from and to are knots of the path. */
export interface SeenEdge { points_mm: WirePoint[]; doubts: { from: number; to: number; uncertainty_mm: number; fray_mm: number }[] }
export interface WireTracedPiece {
  seen?: SeenEdge[] | null;
  stitch_rows?: StitchRow[] | null;
  notch_cuts?: { at_mm: WirePoint; depth_mm: number; width_mm: number; sure: number }[] | null;
  knots: WireKnot[]; hole_knots?: WireKnot[][] | null;
  uncertainty_mm: number; fray_mm: number; unsure?: WireStretch[] | null; grain?: Grain | null;
}
export interface Card { id: number; used: boolean; measured_mm: number; centre_mm: WirePoint; turn_deg: number; why?: string }
export interface Finding { code: string; severity: "info" | "warning" | "error"; message: string; remedy?: string; where_mm?: WirePoint; amount?: number; limit?: number; piece?: string; edge?: string }
export interface Trace {
  pieces: WireTracedPiece[];
  calibration: { cards: Card[] | null; scale_uncertainty_pct: number; print_uncertainty_pct: number };
  findings: Finding[] | null;
}
export interface Refusal { code: string; message: string; remedy: string }
export interface Plane { px_per_mm: number; origin_mm: WirePoint; width: number; height: number }
export type Face = "right" | "wrong" | "";
/** What the rulers of the printed cards measure, mm; left out where not measured. */
/** A thing of known size that was pointed out in a photo; upright pixels. */
export type KnownKind = "a4" | "letter" | "bank-card";
export interface WireReference { kind: KnownKind; points_px: [number, number][] }
export interface WirePrint { ruler_across_mm?: number; ruler_up_mm?: number }
/** The same on the page; null where not measured. */
export interface Print { readonly across: number | null; readonly up: number | null }
export interface Photo {
  id: string; garment_id: string; file_name: string; width: number; height: number; face: Face;
  status: "queued" | "tracing" | "traced" | "refused" | "failed"; job_id?: string;
  refusal?: Refusal | null; trace?: Trace | null; plane?: Plane | null; created_at: string;
  print?: WirePrint | null; print_changed?: boolean; references?: WireReference[];
}
export interface Job {
  id: string; kind: string; photo_id: string;
  status: "queued" | "running" | "done" | "refused" | "failed" | "cancelled";
  step?: { name: string; index: number; count: number; text: string } | null;
  refusal?: Refusal | null; trace?: Trace | null;
}
export interface GarmentSummary { id: string; name: string; updated_at: string; piece_count: number; photo_count: number; tags: string[]; size: string; version: number; origin?: { id: string; name: string } | null }
export interface PieceSummary { id: string; photo_id: string; name: string; version: number }
export interface Run { piece: string; edge: string; reverse?: boolean }
export interface SeamPair { id: string; name: string; a: Run[]; b: Run[]; ease_mm?: number; tolerance_mm?: number; runs_on_start?: boolean; runs_on_end?: boolean }
export interface CurvePair { id: string; name: string; a: Run; b: Run }
export interface Cloth { id: string; name: string; use: "main" | "lining" | "interfacing" | "other"; width_mm?: number; shrink_length_pct?: number; shrink_across_pct?: number; notes?: string; swatch?: string }
export interface MeasurePart { piece: string; edge?: string; level_mm?: number; times?: number }
export interface Measure { id: string; name: string; body_mm?: number; ease_mm?: number; parts: MeasurePart[] }
/** What makes a pattern of the pieces of a garment. */
export interface Parts { seam_pairs: SeamPair[]; curve_pairs: CurvePair[]; cloths: Cloth[]; measures: Measure[] }
export interface Garment extends Partial<Parts> { size_worn?: string; size_measured?: string; date?: string; pattern_version?: string; notes?: string; lays?: import("./lay").Lay[]; tags?: string[]; origin?: { id: string; name: string } | null; id: string; name: string; version: number; updated_at: string; photos: Photo[] | null; pieces: PieceSummary[] | null }
export interface SeamRow { id: string; name: string; a_mm: number; b_mm: number; a_traced_mm: number; b_traced_mm: number; ease_mm: number; off_mm: number; limit_mm: number; parts?: { a_mm: number; b_mm: number }[]; start_deg?: number; end_deg?: number; known: boolean; ok: boolean }
export interface CurveShape { chord_mm: number; length_mm: number; depth_mm: number; points_mm: WirePoint[] }
export interface CurveRow { id: string; name: string; a: CurveShape; b: CurveShape; apart_mm: number }
export interface MeasureRow { id: string; name: string; finished_mm: number; body_mm?: number; ease_mm?: number; off_mm?: number; limit_mm?: number; ok?: boolean }
export interface ElasticRow { name: string; length_mm: number; opening_mm: number; pulled_mm?: number }
export interface Report { seams: SeamRow[]; curves?: CurveRow[] | null; measures?: MeasureRow[] | null; elastics?: ElasticRow[] | null; findings: Finding[] }
export interface Preset { id: string; part: string; cloth: string; finish: Finish; source: string }
export interface WirePlacedMark { id: string; kind: MarkKind; lines_mm?: WirePoint[][] | null; at_mm: WirePoint; text?: string }
export interface WireDraftedEdge { id: string; name: string; length_mm: number; start_mm: number; end_mm: number; known: boolean }
/** A piece as it is drawn, cut and sewn, in the piece frame. */
export interface WireDraft {
  stitch_line: WireKnot[]; cut_line: WireKnot[]; holes?: WireKnot[][] | null; edges: WireDraftedEdge[];
  fold_lines?: { edge: string; out_mm: number; points_mm: WirePoint[] }[] | null; marks?: WirePlacedMark[] | null;
  label: string[]; findings?: Finding[] | null; plane_to_piece?: { turn: number; move: WirePoint } | null;
}
/** The same as the page draws it, in the plane frame: SVG path texts. */
export interface Draft {
  readonly cut: string; readonly stitch: string; readonly folds: string; readonly marks: string;
  readonly box: Bounds;
  readonly edges: readonly WireDraftedEdge[]; readonly label: readonly string[]; readonly findings: readonly Finding[];
}
export interface Version { version: number; name: string; saved_at: string }
export interface Trashed { id: string; kind: "garment" | "photo" | "piece"; record_id: string; garment_id: string; name: string; gone_at: string }
/** Who works here. */
export interface Me { accounts: boolean; signed_in: boolean; name?: string; workspace?: string; role?: "owner" | "editor" | "viewer"; garment_id?: string }
/** A link by which others see a garment. */
export interface Link { id: string; garment_id: string; expires_at: string }
export interface Lan { enabled: boolean; url?: string; qr_svg?: string }

/** A photo on its way to the service; the file stays in hand until the service has it. */
/** A photo on its way in parts, as the service has it. */
export interface WireUpload { id: string; size: number; received: number }
export interface Upload {
  readonly key: string; readonly garment: string; readonly file: File; readonly face: Face; readonly print: Print;
  readonly state: "sending" | "unsent" | "rejected";
  readonly problem?: { title: string; remedy: string };
}

export type SaveState =
  | { kind: "saved" } | { kind: "waiting" } | { kind: "saving" }
  | { kind: "unsent"; why: string } | { kind: "rejected"; why: string }
  | { kind: "conflict"; theirs: WirePiece; etag: string };
