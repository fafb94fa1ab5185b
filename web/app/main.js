// Boot: the only file with a side effect at import but for the state it shows.

import { render } from "preact";
import { loadMe } from "./state/people.js";
import { App } from "./view/App.js";
import { html } from "./view/html.js";

// Who one is decides what is asked for and shown.
void loadMe().then(() => render(html`<${App} />`, /** @type {HTMLElement} */ (document.getElementById("app"))));
