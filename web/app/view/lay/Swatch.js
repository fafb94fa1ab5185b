// A small photo of a cloth, as one is pinned to the making sheet.

import { useState } from "preact/hooks";
import { addSwatch, swatchURL } from "../../api.js";
import { sayProblem } from "../../state/problems.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { Icon } from "../icons.js";

const T = texts.lay.swatch;

/** @param {{ garment: string, name: string, picture?: string }} props */
export const SwatchPicture = ({ garment, name, picture }) => html`<img class="swatch-photo" src=${swatchURL(garment, picture ?? "")} alt=${T.of(name)} loading="lazy" />`;

/** The photo of a cloth, to take, choose, replace or remove. @param {{ garment: string, name: string, picture?: string, change: (picture: string) => void }} props */
export function Swatch({ garment, name, picture, change }) {
  const [busy, setBusy] = useState(false);
  /** @param {any} e */
  const take = async (e) => {
    const el = e.currentTarget, file = el.files?.[0];
    if (!file) return;
    setBusy(true);
    await addSwatch(garment, file).then(change, sayProblem);
    el.value = "";
    setBusy(false);
  };
  return html`<div class="swatch" role="group" aria-label=${T.title}><p class="swatch-title">${T.title}</p>
    ${picture && html`<${SwatchPicture} garment=${garment} name=${name} picture=${picture} />`}
    <div class="row"><label class="button only-touch"><${Icon} name="camera" />${T.take}<input class="file" type="file" accept="image/*" capture="environment" disabled=${busy} onChange=${take} /></label>
      <label class="button"><${Icon} name="picture" />${picture ? T.replace : T.choose}<input class="file swatch-file" type="file" accept="image/*,.heic,.heif" disabled=${busy} onChange=${take} /></label>
      ${picture && html`<button type="button" class="plain" onClick=${() => change("")}><${Icon} name="bin" />${T.remove}</button>`}</div>
    <p class="quiet" role="status">${busy ? T.busy : picture ? "" : T.how}</p></div>`;
}
