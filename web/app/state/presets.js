// Usual finishes, asked for once.

import { signal } from "@preact/signals";
import * as api from "../api.js";

/** @import {Preset} from "../types" */

export const presets = signal(/** @type {Preset[]} */ ([]));
let asked = false;

/** Without a connection there are none to offer; the next visit asks again. */
export async function load() {
  if (asked) return;
  asked = true;
  try {
    presets.value = await api.listPresets();
  } catch {
    asked = false;
  }
}
