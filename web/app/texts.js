// Every word that the page shows. Functions where a text holds a value.

import { editor, exact, rescue, seen, smooth, snap, stretch, tape } from "./texts/editor.js";
import { garment, home, known, printer } from "./texts/garment.js";
import { lay, library } from "./texts/lay.js";
import { making } from "./texts/making.js";
import { people } from "./texts/people.js";
import { check, cloths, edges, marks, printing, todo } from "./texts/pattern.js";
import { wear } from "./texts/wear.js";
import { one } from "./texts/words.js";

export { SHAKY } from "./texts/words.js";

export const texts = {
  lay, library, making, wear, people,
  home, printer, garment, known, editor, stretch, snap, seen, smooth, tape, exact, rescue, edges, marks, cloths, check, printing, todo,
  product: "Secondcut",
  tagline: "From a photo of an unpicked piece to a pattern you can print.",
  skip: "Skip to the content",
  loading: "Loading …",
  close: "Close",
  cancel: "Cancel",
  again: "Try again",
  remove: "Remove",
  offline: "The Secondcut service can't be reached.",
  offlineRemedy: "Check that it is running and that this device is on the same network. What you did is kept here.",
  unknownProblem: "Something went wrong in the service.",
  unknownRemedy: "Try again. If it happens again, look at the service's output.",

  theme: { label: "Colours", auto: "As the device", light: "Light", dark: "Dark" },
  help: {
    open: "Help",
    title: "How to work here",
    pages: "Lay a pressed piece and four to six scale cards on one flat surface, take a photo from straight above, and add it to a garment. Secondcut draws the outline in true millimetres. Correct what is wrong, say how each edge is finished, set grain and marks, check what is sewn together, and print at 100 %.",
    caution: "Before you cut: measure both printed test squares. Keep blades and irons away from children and follow the safety advice of your tools' makers and your local rules.",
    keysTitle: "Keys",
    keys: [
      ["Ctrl + Z, or ⌘ + Z", "Undo"],
      ["Shift + Ctrl + Z, or Shift + ⌘ + Z", "Redo"],
      ["N, B", "Select the next point or edge, or the one before"],
      ["/, or Ctrl + K", "All commands, to search and run"],
      ["1 to 6", "Go to a step: Photo, Outline, Edges, Marks, Check, Print"],
      ["Arrow keys", "Move the selected points, or the chosen mark, by 1 mm; with Shift 10 mm, with Alt 0.1 mm. With nothing selected: move the view"],
      ["L, F", "Make the chosen stretch straight, or smooth"],
      ["Enter", "In Straighten and Measure: take the selected point"],
      ["C, J, R", "In Edges: cut the chosen edge in two, join it to the one before, finish it like the last one"],
      ["U", "Centimetres or inches"],
      ["Delete or Backspace", "Delete the selected points, or the chosen mark"],
      ["+ and −", "Zoom in and out"],
      ["0", "Show the whole piece"],
      ["S; Alt, held", "Snap or not; a drag without snapping"],
      ["Space, held", "Drag moves the view"],
      ["Esc", "Stop what is going on, or select nothing"],
    ],
    scripts: "For programs: what the service understands",
    touch: "With fingers: one finger drags points or paints, or moves the view where there is no point; two fingers move and zoom. Double-tap the outline to add a point.",
  },

  unit: { label: "Lengths in", cm: "centimetres", in: "inches", short: { cm: "cm", in: "inch", mm: "mm" } },

  palette: {
    open: "All commands",
    title: "What do you want to do?",
    find: "Search the commands",
    none: "No command has these words.",
    notNow: "not now",
    key: "Key",
  },

  steps: {
    label: "Steps of this piece",
    photo: "Photo", outline: "Outline", edges: "Edges", marks: "Marks", check: "Check", print: "Print",
    goTo: (/** @type {string} */ step) => `Go to: ${step}`,
    open: (/** @type {number} */ n) => `${n} open`,
    next: (/** @type {string} */ step) => `Next: ${step}`,
  },

  save: {
    saved: "Saved", waiting: "Not saved yet", saving: "Saving …", unsent: "Not saved yet: no connection", rejected: "Can't be saved", conflict: "Two versions",
    now: "Save now",
    faults: {
      name: "The piece needs a name.", few: "An outline needs at least three points.",
      many: "The outline has more than 5000 points.", number: "A point has no proper position. Undo the last step.",
    },
    conflictTitle: "This piece was changed in two places",
    conflictHow: "Your changes here and changes from somewhere else both start from the same version. Which one should count? If you take the other one, undo still brings yours back.",
    mine: "Yours, on this device", theirs: "The other one",
    keepMine: "Keep mine", takeTheirs: "Take the other",
    points: (/** @type {number} */ n) => one(n, "point"),
  },
};
