// What cameras and messengers call photos: a piece that came from one has no name yet.

/** Whether that is no name that a person gave: a long number behind some letters, or a date. @param {string} name */
export const cameraNamed = (name) => /^[a-z]{0,12}[-_]?(?=\S*\d{4})[-\w.~()]*( \d+)?$/i.test(name) || /\d{4}-\d\d-\d\d/.test(name);
