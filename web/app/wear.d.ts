// What the service answers of twins and seams that correct each other.

import type { WirePoint } from "./types";

export interface Finding { code: string; severity: "info" | "warning" | "error"; message: string; remedy?: string; piece?: string }
export interface Pair { a: string; b: string }
export interface EdgeRef { piece: string; edge: string }
export interface Move extends EdgeRef {
  piece_name: string; name: string; mean_mm: number; most_mm: number; allowed_mm: number; before_mm: number; after_mm: number; why: string[];
}
export interface TwinEdge { edge: string; name: string; other: string; other_name: string; worst_mm: number; limit_mm: number }
export interface Twins extends Pair { a_name: string; b_name: string; before_mm: number; after_mm: number; edges: TwinEdge[] }
export interface Seam { id: string; name: string; before_mm: number; after_mm: number; limit_mm: number }
export interface Outline { piece: string; name: string; before_mm: WirePoint[]; after_mm: WirePoint[]; edges: string[] }
export interface Reconciled { moves: Move[]; seams: Seam[]; twins: Twins[]; findings: Finding[]; outlines: Outline[] }
