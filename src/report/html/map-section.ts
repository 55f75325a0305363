import type { Report } from '../model.js';
import { layersOf, planExtent } from './map-data.js';
import { type Markup, markup, trusted } from './markup.js';
import { planFigure } from './plan.js';

/**
 * The map and its controls, hidden until the viewer starts. Where scripts do not run, the drawing from above is shown instead.
 */
export function mapSection(report: Report): Markup {
  if (!planExtent(report)) return markup``;
  const layers = layersOf(report).map(({ head }) => head);
  const options = layers.map(
    (head, i) =>
      markup`<option value="${i}">${head.owner === '' ? 'Whole delivery' : head.owner}: ${head.title}</option>`,
  );
  const passes = report.passes.map(({ pass }, i) => markup`<option value="${i}">${pass}</option>`);
  const box = (name: string, text: string, there: boolean) =>
    there && markup`<label><input type="checkbox" id="map-${name}" ${trusted('checked=""')}> ${text}</label>`;
  const places = report.requirements.some((r) => r.verdict !== 'pass' && r.locations.length > 0);
  return markup`<div class="plan-still">${planFigure(report)}</div>
<section id="map" class="map" aria-labelledby="map-title" ${trusted('hidden=""')}>
<div class="map-tools">
<label>Layer <select id="map-layer">${options}<option value="-1">no layer</option></select></label>
<label id="map-pass-choice" ${trusted('hidden=""')}>Pass <select id="map-pass"><option value="-1">all passes</option>${passes}</select></label>
<label>Several cells in a pixel <select id="map-coarse"><option value="mean">the mean of the cells</option><option value="worst">the worst cell</option></select></label>
<label id="map-beyond-choice" ${trusted('hidden=""')}><input type="checkbox" id="map-beyond"> only cells outside the limit</label>
</div>
<div class="map-frame"><canvas id="map-canvas" tabindex="0" role="application" aria-label="Map of the delivery" aria-describedby="map-keys"></canvas>
<div class="map-buttons"><button type="button" id="map-in" aria-label="Zoom in">+</button><button type="button" id="map-out" aria-label="Zoom out">−</button><button type="button" id="map-fit" aria-label="Show all of the delivery">all</button></div></div>
<p class="map-readout" id="map-readout">Move the pointer over the map to read values.</p>
<p class="unseen" id="map-say" aria-live="polite"></p>
<div class="map-foot"><div><canvas id="map-legend" role="img" aria-label="Colours of the layer; the text beside them states the values" ${trusted('hidden=""')}></canvas><p class="note" id="map-legend-words">No layer yet</p></div>
<div class="map-shown" role="group" aria-label="Shown on the map">${box('tiles', '▭ tiles', true)}${box('zones', '▱ zones', report.zones.length > 0)}${box('points', '● check, ■ control, ◆ blunder', report.surveyPoints.length > 0)}${box('places', '▲ location of a finding', places)}</div></div>
<p class="note" id="map-keys">Drag to move the map. Click on it first, then the wheel zooms. Keys: arrows move, + and − zoom, 0 zooms to the full extent, Enter reads the value at the centre. Arrows at survey points show the residual, upward where the cloud is too high. Everything on the map is listed in the tables of this page.</p>
</section>
<div id="printed-maps"></div>`;
}
