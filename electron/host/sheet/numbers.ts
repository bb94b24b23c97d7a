import { bendChange } from '../../../core/cantilever/change.ts';
import {
  bendWords,
  type CantileverReport,
  type ComparisonAnswer,
  type ExaminationAnswer,
  type ExaminationReport,
  type FlatPair,
  type FlatSingle,
  type Mark,
  type Measured,
  type Suspicion,
  type Warning,
} from '../../../shared/index.ts';
import { areaUnit, lengthUnit, measured, notDetected, plain, uncertainty } from './format.ts';
import type { Unit } from './format.ts';
import { answerTo } from './marks.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** The measured values as tables; every value with its uncertainty, every limit said. */
const row = (name: string, ...cells: (string | Markup)[]): Markup =>
  html`<tr>
    <th scope="row">${name}</th>
    ${cells.map((cell) => html`<td>${cell}</td>`)}
  </tr>`;

/** Nothing beyond the threshold is no zero: it may lie inside the uncertainty. */
const foundOrNot = (value: Measured, unit: string): string =>
  value.value > 0 ? measured(value, unit) : `none found, uncertainty ${uncertainty(value.expanded, unit)}`;

function flatPairRow(name: string, flat: FlatPair, unit: string): Markup {
  // Older results hold the later picture's limits only.
  const seenBefore = flat.baselineUm.value > (flat.baselineDecisionThresholdUm ?? flat.decisionThresholdUm);
  const limit = notDetected(flat.detectionLimitUm, unit);
  const limitBefore = notDetected(flat.baselineDetectionLimitUm ?? flat.detectionLimitUm, unit);
  return row(
    name,
    seenBefore ? measured(flat.baselineUm, unit) : limitBefore,
    flat.detected ? measured(flat.laterUm, unit) : limit,
    flat.detected || seenBefore ? measured(flat.changeUm, unit) : 'none seen',
  );
}

/** What the sheet is mostly asked for, so it stands first. `marks`: those of the later picture, which answer what is suspected. */
export function flatNumbers(
  { flats, unit = 'um', suspicions, warnings }: ComparisonAnswer,
  marks: readonly Mark[] = [],
): Markup {
  const length = lengthUnit(unit);
  return html`<table class="numbers">
      <thead>
        <tr>
          <th scope="col"></th>
          <th scope="col">Baseline</th>
          <th scope="col">Later</th>
          <th scope="col">Change</th>
        </tr>
      </thead>
      <tbody>
        ${flatPairRow('Flat width, left', flats.left, length)}
        ${flatPairRow('Flat width, right', flats.right, length)}
      </tbody>
    </table>
    ${unit === 'um' ? null : html`<p><strong>No µm:</strong> no scale was given, so everything counts in per cent of the baseline’s shank width.</p>`}
    ${remarks(suspicions, warnings, (found) => onOutline(found, length), marks)}`;
}

export function comparisonNumbers(report: ComparisonAnswer): Markup {
  const unit: Unit = report.unit ?? 'um';
  const length = lengthUnit(unit);
  const { tip, contour, registration, sharpness } = report;
  return html`<table class="numbers">
    <tbody>
      ${row('Tip radius', `${measured(tip.radiusUm, length)}, from ${tip.arcDeg.toFixed(0)}° of arc`)}
      ${row('Largest recession', foundOrNot(contour.largestRecessionUm, length))}
      ${row('Area lost', foundOrNot(contour.areaLostUm2, areaUnit(unit)))}
      ${row('Largest growth (something added)', foundOrNot(contour.largestGrowthUm, length))}
      ${row(
        'How well the two lie on each other',
        `${plain(registration.residualUm, 2, length)} on the unworn outline, turned by ${turnText(registration)}`,
      )}
      ${row(
        'Edge width, baseline and later',
        `${plain(sharpness.baselineEdgeUm, 1, length)} and ${plain(sharpness.laterEdgeUm, 1, length)}`,
      )}
      ${
        report.method === 'recession-profile'
          ? row('Method', 'recession between the two outlines; the shape is no textbook cone')
          : null
      }
    </tbody>
  </table>`;
}

const flatRow = (name: string, flat: FlatSingle, unit: string): Markup =>
  row(name, flat.detected ? measured(flat.widthUm, unit) : notDetected(flat.detectionLimitUm, unit));

/** Left against right is all that one picture of an unknown stylus can tell about uneven wear. */
function unevenness(flats: NonNullable<ExaminationAnswer['flats']>, unit: string): string {
  const { left, right } = flats;
  if (!left.detected && !right.detected) return 'neither flat detected';
  const difference = left.widthUm.value - right.widthUm.value;
  const expanded = Math.hypot(left.widthUm.expanded, right.widthUm.expanded);
  const stated = measured({ value: Math.abs(difference), expanded }, unit);
  if (Math.abs(difference) <= expanded) return `no difference beyond the uncertainty (${stated})`;
  return `the ${difference > 0 ? 'left' : 'right'} one is wider by ${stated}; uneven wear points at the set-up`;
}

export function examinationNumbers(report: ExaminationReport, marks: readonly Mark[] = []): Markup {
  if (!report.ok) return html`<p><strong>No answer.</strong> ${report.reason.message}</p>`;
  const unit: Unit = report.unit ?? 'um';
  const length = lengthUnit(unit);
  return html`<table class="numbers">
      <tbody>
        ${report.flats ? flatRow('Flat width, left', report.flats.left, length) : null}
        ${report.flats ? flatRow('Flat width, right', report.flats.right, length) : null}
        ${report.flats ? row('Left against right', unevenness(report.flats, length)) : null}
        ${
          report.tip
            ? row(
                'Tip radius',
                `${measured(report.tip.radiusUm, length)}, from ${report.tip.arcDeg.toFixed(0)}° of arc`,
              )
            : null
        }
        ${(report.facets ?? []).map((facet) =>
          row(
            `Bright patch, ${facet.side}`,
            `${measured(facet.alongUm, length)} along the groove, ${measured(facet.acrossUm, length)} across as seen${
              facet.widthUm ? `, a flat ${measured(facet.widthUm, length)} wide` : ''
            }`,
          ),
        )}
        ${report.sharpness.edgeUm > 0 ? row('Edge width', plain(report.sharpness.edgeUm, 1, length)) : null}
      </tbody>
    </table>
    ${remarks(report.suspicions, report.warnings, (found) => onOutline(found, length), marks)}`;
}

/** `before`: the baseline of the same view, where its cantilever was measured too. */
export function cantileverNumbers(
  report: CantileverReport,
  before: CantileverReport | null = null,
  marks: readonly Mark[] = [],
): Markup {
  if (!report.ok) return html`<p><strong>No answer.</strong> ${report.reason.message}</p>`;
  const { cantilever } = report;
  const toward =
    cantilever.bendToward === 'none'
      ? ''
      : `, ${bendWords(cantilever.bendToward === 'left' ? 'left' : 'right', report.drawing?.axisPx)}`;
  const angle = degrees(cantilever.bendAngleDeg);
  const unit = report.unit === 'percent-of-length' ? '% of its length' : 'µm';
  return html`<table class="numbers">
      <tbody>
        ${row('Bend of the cantilever in this view', `${angle}${toward}`)}
        ${row('Straightness', measured(cantilever.straightnessUm, unit))}
        ${cantilever.skewDeg ? row('Skew at the root against the line given', degrees(cantilever.skewDeg)) : null}
        ${before?.ok === true ? row('Change of the bend since the baseline', changeText(before, report)) : null}
      </tbody>
    </table>
    ${remarks(report.suspicions, report.warnings, ({ kind }) => (kind === 'bent-cantilever' ? `, ${angle}` : ''), marks)}`;
}

const SUSPICIONS: Readonly<Record<Suspicion['kind'], string>> = {
  chip: 'a chip',
  residue: 'residue (something added)',
  'bent-cantilever': 'a bent cantilever',
  'missing-diamond': 'a missing diamond',
  'leaning-diamond': 'a leaning diamond',
  'turned-diamond': 'a diamond turned about its own axis',
};

/** Place and size on the tip's outline, in the unit in which the report counts. */
function onOutline({ kind, angleDeg, sizeUm, depthUm }: Suspicion, unit: string): string {
  if (kind !== 'chip' && kind !== 'residue') return '';
  const how = kind === 'residue' ? 'high' : 'deep';
  return ` at ${angleDeg.toFixed(0)}° around the tip, ${plain(sizeUm, 1, unit)} long, ${plain(depthUm, 1, unit)} ${how}`;
}

const degrees = (angle: Measured): string => measured(angle, '°');

const turnText = ({ rotationDeg, rotationDegExpanded }: ComparisonAnswer['registration']): string =>
  rotationDegExpanded === undefined
    ? plain(rotationDeg, 1, '°')
    : degrees({ value: rotationDeg, expanded: rotationDegExpanded });

function changeText(
  before: Extract<CantileverReport, { ok: true }>,
  now: Extract<CantileverReport, { ok: true }>,
): string {
  const change = bendChange(before.cantilever, now.cantilever);
  if (Math.abs(change.value) <= change.expanded)
    return `none beyond the uncertainty (${degrees({ value: Math.abs(change.value), expanded: change.expanded })})`;
  const side = bendWords(change.value > 0 ? 'right' : 'left', now.drawing?.axisPx);
  return `${degrees({ value: Math.abs(change.value), expanded: change.expanded })} ${side}`;
}

function remarks(
  suspicions: readonly Suspicion[],
  warnings: readonly Warning[],
  details: (found: Suspicion) => string,
  marks: readonly Mark[],
): Markup | null {
  if (suspicions.length + warnings.length === 0) return null;
  return html`<ul>
    ${suspicions.map((found) => suspicionLine(found, details(found), answerTo(found, marks)))}
    ${warnings.map((warning) => html`<li>${warning.message}</li>`)}
  </ul>`;
}

/** What somebody has answered already is not asked for again on paper. */
function suspicionLine(found: Suspicion, details: string, answer: Mark | null): Markup | null {
  const what = SUSPICIONS[found.kind];
  if (answer?.state === 'rejected') return null;
  if (answer?.state === 'confirmed')
    return html`<li>
      <strong>${what.charAt(0).toUpperCase() + what.slice(1)}</strong>${details}: confirmed by whoever looked.
    </li>`;
  return html`<li><strong>Suspected: ${what}</strong>${details}. To be confirmed by looking.</li>`;
}
