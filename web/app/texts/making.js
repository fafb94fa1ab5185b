// What the page says of the making sheet.

export const making = {
  title: "Making sheet", open: "Making sheet",
  how: "What to cut, prepare and sew, from what you said of pieces, edges and cloth. Print it and keep it at the table.",
  pdf: "Making sheet (PDF)", set: "The whole set: sheet and all pieces (PDF)", setStop: "Stop", setDone: "Save the whole set (PDF)",
  setRunning: "The whole set is being drawn. You can go on; the file will be kept for a day.", paper: "Paper",
  pieces: "Pieces to cut", letter: "Chalk letter", letterHow: "Chalk the letter on the wrong side of each cut piece.", cut: "How many", cloth: "Cloth", side: "Which side up",
  cloths: "Cloth", notions: "Elastic and cord", prepare: "Before you cut",
  seams: "Seams", seam: "Seam", a: "First side", b: "Second side", allowance: "Allowance", notches: "Notches", ease: (/** @type {string} */ l) => `ease the first by ${l}`, easeOther: (/** @type {string} */ l) => `ease the second by ${l}`,
  edges: "Other edges", steps: "Order of work", stepsHow: "As far as it follows from seams and finishes.",
  marks: "Marks to transfer", marksHow: "With chalk on the wrong side; try the chalk on a scrap first.", piece: "Piece", edge: "Edge", finish: "Finish", changes: "Changed against the worn garment", cautions: "Mind",
  layout: "Layout", toLay: "Lay the pieces", layoutIs: "See and change the layout",
  swatches: "Swatches", swatch: "Pin a washed piece of each cloth to the printed sheet. Colours of a photo are not true.",
};
