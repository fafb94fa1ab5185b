// What the page says where several people share a service.

export const people = {
  signIn: "Sign in", signOut: "Sign out",
  name: "Name", secret: "Password or token",
  how: "Whoever runs this service has given you a name with a password, or a token. With a token you can leave the name empty.",
  who: (/** @type {string} */ name, /** @type {string} */ workspace) => `${name}, in ${workspace}`,
  looking: "You may look at this garment and print it, but not change it.",
  byLink: "You see this garment by a link. It shows no photos, and ends on its day.",
  leave: "Put the link away",
  printAll: "Print the whole set (PDF)",
  making: "The making sheet (PDF)",
  share: "Links for others to look",
  shareHow: "Whoever has a link sees this garment's pieces and can print them, without an account, until it ends. Photos are not shown: they may show a home. Send it only to whom you would give the pattern.",
  days: "A new link ends after", daysOf: (/** @type {number} */ n) => (n === 1 ? "1 day" : `${n} days`),
  make: "Make a link",
  link: "The new link; it is shown this once", copy: "Copy", copied: "Copied.",
  none: "No link leads here.",
  until: (/** @type {string} */ day) => `Ends on ${day}`,
  end: "End it now",
  ended: "The link has ended.",
};
