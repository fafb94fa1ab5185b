// What the rulers of this person's printed cards measure, kept in the browser.

import { effect, signal } from "@preact/signals";
import { UNMEASURED, readKept, samePrint, writePrint } from "../model/print.js";
import { recall, remember } from "./app.js";

const KEY = "secondcut.print";

export const print = signal(readKept(recall(KEY)));
effect(() => {
  remember(KEY, samePrint(print.value, UNMEASURED) ? null : JSON.stringify(writePrint(print.value)));
});
