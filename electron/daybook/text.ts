import { roundLimitUp, roundTogether } from '../../core/uncertainty/rounding.ts';
import {
  bendWords,
  type CantileverReport,
  type ComparisonReport,
  type ExaminationReport,
  type FlatPair,
  type FlatSingle,
  type Measured,
  type SlideReport,
} from '../../shared/index.ts';

export type AnyReport = ComparisonReport | ExaminationReport | CantileverReport | SlideReport;
export type ReportKind = 'compare' | 'examine' | 'cantilever' | 'scale';
type Answer<R extends AnyReport> = Extract<R, { ok: true }>;

/** U+00A0 keeps number and unit together. */
const withUnit = (text: string, unit: string): string => (unit === '' ? text : `${text}\u00A0${unit}`);

export function measuredText({ value, expanded }: Measured, unit: string): string {
  const rounded = roundTogether(value, expanded);
  return withUnit(rounded.expanded === '' ? rounded.value : `${rounded.value} ± ${rounded.expanded}`, unit);
}

const unitOf = (report: { unit?: 'um' | 'percent-of-shank' | undefined }): string =>
  report.unit === 'percent-of-shank' ? '% of the shank' : 'µm';

const below = (limit: number, unit: string): string =>
  `not detected, below ${withUnit(roundLimitUp(limit), unit)}`;

function flatPairLine(side: string, flat: FlatPair, unit: string): string {
  const later = flat.detected ? measuredText(flat.laterUm, unit) : below(flat.detectionLimitUm, unit);
  const seen = flat.baselineUm.value > flat.decisionThresholdUm;
  const baseline = seen ? measuredText(flat.baselineUm, unit) : below(flat.detectionLimitUm, unit);
  return `Flat ${side}: ${later} (baseline ${baseline}, change ${measuredText(flat.changeUm, unit)})`;
}

const flatLine = (side: string, flat: FlatSingle, unit: string): string =>
  `Flat ${side}: ${flat.detected ? measuredText(flat.widthUm, unit) : below(flat.detectionLimitUm, unit)}`;

function comparisonLines(report: Answer<ComparisonReport>): string[] {
  const unit = unitOf(report);
  const { registration, tip, contour, flats } = report;
  return [
    flatPairLine('left', flats.left, unit),
    flatPairLine('right', flats.right, unit),
    `Largest recession: ${measuredText(contour.largestRecessionUm, unit)}`,
    `Area lost: ${measuredText(contour.areaLostUm2, `${unit}²`)}`,
    `Tip radius: ${measuredText(tip.radiusUm, unit)}, over ${tip.arcDeg.toFixed(0)}° of arc`,
    `Laid over: turned ${registration.rotationDeg.toFixed(2)}°, scale ratio ${registration.scaleRatio.toFixed(4)}, ` +
      `residual ${withUnit(registration.residualUm.toPrecision(2), unit)}`,
    ...(report.repeatability
      ? ['Your repeatability study is in the uncertainty; --json shows every budget line by line.']
      : []),
  ];
}

function examinationLines(report: Answer<ExaminationReport>): string[] {
  const unit = unitOf(report);
  const { edgeUm } = report.sharpness;
  const lines = edgeUm > 0 ? [`Edge width: ${withUnit(edgeUm.toPrecision(2), unit)}`] : [];
  if (report.flats)
    lines.push(flatLine('left', report.flats.left, unit), flatLine('right', report.flats.right, unit));
  if (report.tip)
    lines.push(
      `Tip radius: ${measuredText(report.tip.radiusUm, unit)}, over ${report.tip.arcDeg.toFixed(0)}° of arc`,
    );
  for (const facet of report.facets ?? [])
    lines.push(
      `Bright patch ${facet.side}: ${measuredText(facet.alongUm, unit)} along the groove, ${measuredText(facet.acrossUm, unit)} across` +
        (facet.widthUm ? ` (a flat ${measuredText(facet.widthUm, unit)} wide)` : ''),
    );
  if (report.groove) lines.push(`Groove: ${report.groove.directionDeg.toFixed(1)}° in the picture`);
  return lines;
}

function cantileverLines({ cantilever, drawing, unit: counted }: Answer<CantileverReport>): string[] {
  const unit = counted === 'percent-of-length' ? '% of its length' : 'µm';
  const toward =
    cantilever.bendToward === 'none'
      ? ''
      : `, ${bendWords(cantilever.bendToward === 'left' ? 'left' : 'right', drawing?.axisPx)}`;
  return [
    `Bend: ${measuredText(cantilever.bendAngleDeg, '°').replace('\u00A0', '')}${toward}`,
    `Straightness: ${measuredText(cantilever.straightnessUm, unit)}`,
    ...(cantilever.skewDeg
      ? [`Skew against the given line: ${measuredText(cantilever.skewDeg, '°').replace('\u00A0', '')}`]
      : []),
  ];
}

function inUnit(report: Answer<AnyReport>): string {
  const unit = 'unit' in report ? report.unit : 'um';
  if (unit === 'percent-of-length') return '% of the cantilever';
  return unit === 'percent-of-shank' ? '% of the shank' : 'µm';
}

/** The report for a person; programs ask for --json. */
function slideLines(report: Answer<SlideReport>): string[] {
  const { lines, field, pixelShape } = report;
  return [
    `Scale: ${measuredText(report.scaleUmPerPx, 'µm/px')}, for ${report.widthPx} x ${report.heightPx} px only`,
    `Lines: ${lines.used} used, ${lines.missing} missing, ${report.acrossDeg.toFixed(2)}° across them, ` +
      `scatter ${withUnit(lines.scatterPx.toFixed(3), 'px')}, largest ${withUnit(lines.largestResidualPx.toFixed(2), 'px')}`,
    ...(field.cornerPercent === undefined || field.cornerPercent.value === 0
      ? []
      : [
          `Lens: moves the picture’s corner by ${measuredText(field.cornerPercent, '%')} of its distance from the middle`,
        ]),
    `Field: lines bend by ${withUnit(field.bendPx.toFixed(2), 'px')}, scale changes by ${withUnit(field.scaleChangePercent.toFixed(2), '%')}`,
    ...(pixelShape === null ? [] : [pixelShape.message]),
  ];
}

export function textOf(report: AnyReport, kind: ReportKind): string {
  const head = report.id === undefined ? [] : [`[${report.id}]`];
  if (!report.ok)
    return `${[...head, `Refused (${report.reason.code}): ${report.reason.message}`].join(' ')}\n`;
  const lines =
    kind === 'compare'
      ? comparisonLines(report as Answer<ComparisonReport>)
      : kind === 'examine'
        ? examinationLines(report as Answer<ExaminationReport>)
        : kind === 'scale'
          ? slideLines(report as Answer<SlideReport>)
          : cantileverLines(report as Answer<CantileverReport>);
  for (const suspicion of 'suspicions' in report ? report.suspicions : [])
    lines.push(
      `Suspected: ${suspicion.kind.replaceAll('-', ' ')} at ${suspicion.angleDeg.toFixed(0)}°, about ${withUnit(suspicion.sizeUm.toPrecision(2), inUnit(report))}`,
    );
  for (const warning of report.warnings) lines.push(`Note: ${warning.message}`);
  return `${[...head, ...lines].join('\n')}\n`;
}
