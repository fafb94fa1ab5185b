// Boot: the only file with a side effect at import but for the state it shows.

import { render } from "preact";
import { App } from "./view/App.js";
import { html } from "./view/html.js";

render(html`<${App} />`, /** @type {HTMLElement} */ (document.getElementById("app")));
