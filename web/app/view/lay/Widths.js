// What the same pieces take of cloth of other widths, as a table and as bars.

import * as L from "../../state/laying.js";
import { texts } from "../../texts.js";
import { html } from "../html.js";
import { len } from "../lengths.js";
import { money, shopLength } from "./Lay.js";

const T = texts.lay;

export function Widths() {
  const rows = L.rows.value, p = L.plan.value, on = L.comparing.value;
  if (!p || p.pieces.length === 0) return null;
  const most = Math.max(1, ...(rows ?? []).map((r) => r.buy_mm ?? 0)), priced = Boolean(p.cloth.price_per_m), own = p.cloth.width_mm, chart = (rows ?? []).some((r) => r.chart_mm);
  return html`<section class="slip widths" aria-labelledby="widths-title"><h2 id="widths-title">${T.widths}</h2><p class="quiet">${T.widthsHow}</p>
    <button type="button" onClick=${() => L.compare()} disabled=${on || L.running.value !== null}>${T.widthsGo}</button>
    ${rows && rows.length > 0 && html`<table><caption class="sr">${T.widthsCaption}</caption>
      <thead><tr><th scope="col">${T.col.width}</th><th scope="col" colspan="2">${T.col.buy}</th>${chart && html`<th scope="col">${T.col.chart}</th>`}<th scope="col">${T.col.used}</th>${priced && html`<th scope="col">${T.col.cost}</th>`}<td></td></tr></thead>
      <tbody>${rows.map((r) => html`<tr key=${r.width_mm} class=${Math.abs(r.width_mm - own) < 0.5 ? "own" : ""}><th scope="row">${len(r.width_mm)}</th>
        ${r.why ? html`<td colspan=${3 + (priced ? 1 : 0) + (chart ? 1 : 0)} class="quiet">${r.why}</td>` : html`<td>${shopLength(r.buy_mm ?? 0)}</td>
          <td class="bar-cell"><svg viewBox="0 0 100 12" preserveAspectRatio="none" aria-hidden="true" focusable="false"><path class="bar" d=${`M0 1H${(100 * (r.buy_mm ?? 0)) / most}V11H0Z`} /></svg></td>
          ${chart && html`<td class="quiet">${r.chart_mm ? shopLength(r.chart_mm) : ""}</td>`}
          <td>${Math.round(r.used_pct ?? 0)} %</td>${priced && html`<td>${money(r.cost ?? 0)}</td>`}`}
        <td>${r.why ? "" : Math.abs(r.width_mm - own) < 0.5 ? T.widthNow : html`<button type="button" class="plain" onClick=${() => L.changeCloth({ width_mm: r.width_mm })}>${T.take(len(r.width_mm))}</button>`}</td></tr>`)}</tbody></table>`}
    ${chart && html`<p class="quiet">${T.chartHow}</p>`}
    ${on && html`<p role="status">${T.running}</p>`}
  </section>`;
}
