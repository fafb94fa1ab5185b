// Package interchange holds pattern pieces as programs for patterns exchange them: lines
// with a meaning, notches as points, words. [FromDrafts] makes them of a drafted garment,
// for the writers; [Garment] makes a garment of what a reader found, and says what it
// could not take.
package interchange
