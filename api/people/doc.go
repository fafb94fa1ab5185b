// Package people makes and knows again the secrets by which people are let in:
// passwords, which they choose, and tokens, which are made for them.
package people
