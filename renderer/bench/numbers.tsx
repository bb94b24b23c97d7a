import type { ReactNode } from 'react';
import type {
  BudgetLine,
  ComparisonAnswer,
  FlatPair,
  Measured,
  Suspicion,
  Warning,
} from '../../shared/index.ts';
import {
  areaUnit,
  formatDate,
  formatFlat,
  formatInterval,
  formatMeasured,
  formatPlain,
  lengthUnit,
  NBSP,
  type LengthUnit,
  type ReportUnit,
  type Shown,
} from '../format.ts';
import type { Before } from '../stylus/captures.ts';
import { SUSPICION_WORDS } from '../words.ts';
import { combineBudget } from '../../core/uncertainty/budget.ts';
import { FlatBar } from './flat-bar.tsx';

const SIDES = ['left', 'right'] as const;

type ReportProps = { readonly report: ComparisonAnswer; readonly unit: LengthUnit };
type NumbersProps = ReportProps & {
  /** Stands where the suspicions would: they are proposals there. */
  readonly marks?: ReactNode;
  /** The answer of the capture before this one. */
  readonly before?: Before | null;
};

/** Every number of a comparison, with its uncertainty and its limit. */
export function ComparisonNumbers({ report, unit, marks, before = null }: NumbersProps) {
  const counted: ReportUnit = report.unit ?? 'um';
  const shown = lengthUnit(unit, counted);
  return (
    <>
      {counted === 'percent-of-shank' && (
        <p className="notice">
          No scale is known, so everything counts in per cent of the baseline’s shank width: no µm, and no
          limit in µm.
        </p>
      )}
      <Flats report={report} shown={shown} before={before} />
      {marks ?? <Suspicions suspicions={report.suspicions} shown={shown} />}
      <Material report={report} unit={unit} shown={shown} />
      <Trust report={report} shown={shown} />
      <Warnings warnings={report.warnings} />
      <Budget
        shown={shown}
        parts={budgetParts(report, areaUnit(unit, counted))}
        unstudied={counted === 'um' && report.repeatability === undefined}
      />
    </>
  );
}

type FlatsProps = {
  readonly report: ComparisonAnswer;
  readonly shown: Shown;
  readonly before: Before | null;
};

function Flats({ report, shown, before }: FlatsProps) {
  const { flats } = report;
  const most = Math.max(
    ...SIDES.flatMap((side) => [
      flats[side].laterUm.high ?? flats[side].laterUm.value + flats[side].laterUm.expanded,
      flats[side].detectionLimitUm * 1.3,
    ]),
  );
  return (
    <section className="panel-part" aria-labelledby="flat-widths">
      <h2 id="flat-widths">Flat widths</h2>
      {SIDES.map((side) => (
        <SideFlat key={side} side={side} flat={flats[side]} shown={shown} most={most} before={before} />
      ))}
      <p className="hint">
        Values with expanded uncertainty, about 95 % coverage; for a pose within 2° unless measured better.
      </p>
    </section>
  );
}

function SideFlat(props: {
  readonly side: 'left' | 'right';
  readonly flat: FlatPair;
  readonly shown: Shown;
  readonly most: number;
  readonly before: Before | null;
}) {
  const { side, flat, shown, most, before } = props;
  // Older results hold the later picture's limits only.
  const baselineSeen = flat.baselineUm.value > (flat.baselineDecisionThresholdUm ?? flat.decisionThresholdUm);
  const baselineLimit = flat.baselineDetectionLimitUm ?? flat.detectionLimitUm;
  return (
    <div className="side-flat">
      <h3 className={`side-name side-${side}`}>{side === 'left' ? 'Left wall' : 'Right wall'}</h3>
      <p className={flat.detected ? 'big-value' : 'big-value big-value-not'}>
        {formatFlat(flat.laterUm, flat.detected, flat.detectionLimitUm, shown)}
      </p>
      <Interval measured={flat.detected ? flat.laterUm : null} shown={shown} />
      <FlatBar
        flat={flat.laterUm}
        detected={flat.detected}
        limit={flat.detectionLimitUm}
        most={most}
        side={side}
      />
      <dl className="numbers">
        <Line name="Change since the baseline" value={formatMeasured(flat.changeUm, shown)} />
        {before !== null && (
          <Line
            name={`Change since ${formatDate(before.taken)}`}
            value={formatMeasured(changeSince(before.flats[side].laterUm, flat.laterUm), shown)}
            note="both uncertainties added, which is on the safe side"
          />
        )}
        <Line name="Baseline" value={formatFlat(flat.baselineUm, baselineSeen, baselineLimit, shown)} />
        <Line
          name="Called detected from"
          value={formatPlain(flat.decisionThresholdUm * shown.factor, digitsFor(shown), shown.symbol)}
        />
        <Line
          name="Surely seen from"
          value={formatPlain(flat.detectionLimitUm * shown.factor, digitsFor(shown), shown.symbol)}
        />
      </dl>
    </div>
  );
}

/** Two results against one baseline share radius and scale; without their covariance the sum of squares is too wide. */
export function changeSince(before: Measured, now: Measured): Measured {
  const end = (m: Measured, which: 'low' | 'high'): number =>
    Math.abs((m[which] ?? m.value) - m.value) || m.expanded;
  const value = now.value - before.value;
  const low = value - Math.hypot(end(now, 'low'), end(before, 'high'));
  const high = value + Math.hypot(end(now, 'high'), end(before, 'low'));
  return { value, expanded: Math.max(value - low, high - value), low, high };
}

export const digitsFor = (shown: Shown): number => (shown.factor < 1 ? 3 : 1);

export function Interval({ measured, shown }: { readonly measured: Measured | null; readonly shown: Shown }) {
  const interval = measured === null ? null : formatInterval(measured, shown);
  return interval === null ? null : <p className="hint">{`lopsided: ${interval}`}</p>;
}

export function Line({
  name,
  value,
  note,
}: {
  readonly name: string;
  readonly value: ReactNode;
  readonly note?: string;
}) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>
        {value}
        {note !== undefined && <small>{note}</small>}
      </dd>
    </div>
  );
}

function Material({ report, unit, shown }: ReportProps & { readonly shown: Shown }) {
  const { contour } = report;
  const areas = areaUnit(unit, report.unit ?? 'um');
  const extent = (measured: Measured, what: string): string =>
    measured.value === 0 ? `no ${what} above its threshold` : formatMeasured(measured, shown);
  return (
    <section className="panel-part" aria-labelledby="material">
      <h2 id="material">Material</h2>
      <dl className="numbers">
        <Line name="Area lost" value={formatMeasured(contour.areaLostUm2, areas)} />
        <Line name="Largest recession" value={extent(contour.largestRecessionUm, 'recession')} />
        <Line name="Area gained" value={formatMeasured(contour.areaGainedUm2, areas)} />
        <Line name="Largest growth" value={extent(contour.largestGrowthUm, 'growth')} />
      </dl>
    </section>
  );
}

function Trust({ report, shown }: { readonly report: ComparisonAnswer; readonly shown: Shown }) {
  const { registration, sharpness, tip } = report;
  const turn = registration.rotationDegExpanded;
  const ratio = registration.scaleRatioExpanded;
  const digits = digitsFor(shown);
  return (
    <section className="panel-part" aria-labelledby="trust">
      <h2 id="trust">How well they fit</h2>
      <dl className="numbers">
        <Line
          name="Left over on unworn parts"
          value={formatPlain(registration.residualUm * shown.factor, digits + 1, shown.symbol)}
        />
        <Line
          name="Later picture turned by"
          value={
            turn === undefined
              ? formatPlain(registration.rotationDeg, 2, '°')
              : formatMeasured(
                  { value: registration.rotationDeg, expanded: turn },
                  { factor: 1, symbol: '°' },
                )
          }
        />
        <Line
          name="Pixels, later to baseline"
          value={
            ratio === undefined
              ? formatPlain(registration.scaleRatio, 4, '')
              : formatMeasured({ value: registration.scaleRatio, expanded: ratio }, { factor: 1, symbol: '' })
          }
        />
        <Line
          name="Tip radius"
          value={formatMeasured(tip.radiusUm, shown)}
          note={`from an arc of ${formatPlain(tip.arcDeg, 0, '')}°`}
        />
        <Line
          name="Edge width, baseline and later"
          value={`${formatPlain(sharpness.baselineEdgeUm * shown.factor, digits, '')} and ${formatPlain(sharpness.laterEdgeUm * shown.factor, digits, shown.symbol)}`}
        />
        {report.method !== undefined && (
          <Line
            name="Method"
            value={report.method === 'joint-model' ? 'joint fit of both pictures' : 'recession profile only'}
          />
        )}
        {registration.byHand === true && <Line name="Registration" value="helped by hand" />}
      </dl>
    </section>
  );
}

export function Suspicions({
  suspicions,
  shown,
}: {
  readonly suspicions: readonly Suspicion[];
  readonly shown: Shown;
}) {
  if (suspicions.length === 0) return null;
  const size = (value: number): string => formatPlain(value * shown.factor, digitsFor(shown), shown.symbol);
  return (
    <section className="panel-part" aria-labelledby="suspicions">
      <h2 id="suspicions">Suspicions</h2>
      <ol className="suspicions">
        {suspicions.map((one, index) => (
          <li key={`${one.kind}${index}`}>
            <strong>{SUSPICION_WORDS[one.kind]}</strong>
            {` at ${formatPlain(one.angleDeg, 0, '')}°: ${size(one.sizeUm)} long, ${size(one.depthUm)} ${one.kind === 'residue' ? 'high' : 'deep'}. `}
            Look before you believe it.
          </li>
        ))}
      </ol>
    </section>
  );
}

export function Warnings({ warnings }: { readonly warnings: readonly Warning[] }) {
  if (warnings.length === 0) return null;
  return (
    <section className="panel-part" aria-labelledby="warnings">
      <h2 id="warnings">Mind</h2>
      <ul className="warnings">
        {warnings.map((warning) => (
          <li key={warning.code + warning.message}>{warning.message}</li>
        ))}
      </ul>
    </section>
  );
}

/** Every value of a comparison that has a budget, in the order of the panel. */
function budgetParts(report: ComparisonAnswer, areas: Shown): BudgetPart[] {
  const { flats, tip, contour } = report;
  const of = contour.budgets;
  return [
    ...SIDES.flatMap((side): BudgetPart[] => [
      { name: `${side} flat, later`, lines: flats[side].budget, of: flats[side].laterUm },
      { name: `${side} flat, baseline`, lines: flats[side].baselineBudget, of: flats[side].baselineUm },
      { name: `${side} flat, change`, lines: flats[side].changeBudget, of: flats[side].changeUm },
    ]),
    { name: 'tip radius', lines: tip.budget, of: tip.radiusUm },
    { name: 'area lost', lines: of?.areaLostUm2, of: contour.areaLostUm2, shown: areas },
    { name: 'largest recession', lines: of?.largestRecessionUm, of: contour.largestRecessionUm },
    { name: 'area gained', lines: of?.areaGainedUm2, of: contour.areaGainedUm2, shown: areas },
    { name: 'largest growth', lines: of?.largestGrowthUm, of: contour.largestGrowthUm },
  ];
}

export type BudgetPart = {
  readonly name: string;
  readonly lines: readonly BudgetLine[] | undefined;
  /** The value that the lines are of. */
  readonly of?: Measured;
  /** Where it counts in another unit than the rest. */
  readonly shown?: Shown;
};
type BudgetProps = {
  readonly shown: Shown;
  readonly parts: readonly BudgetPart[];
  /** Whose uncertainty, where a panel shows more than one table of these. */
  readonly whose?: string;
  /** A study could be in it and is not. */
  readonly unstudied?: boolean;
};

/** What the lines add up to, and what coverage factor made U of it. */
function Sum({ part, shown }: { readonly part: BudgetPart; readonly shown: Shown }) {
  const { standard, degreesOfFreedom, coverageFactor } = combineBudget(part.lines ?? []);
  const many = degreesOfFreedom > 200;
  return (
    <tfoot>
      <tr>
        <th scope="row">
          Together
          <small>
            {`k${NBSP}=${NBSP}${coverageFactor.toFixed(2)}`}
            {part.of !== undefined && `, U${NBSP}=${NBSP}${figure(part.of.expanded * shown.factor)}`}
            {part.of?.low !== undefined && ', lopsided'}
          </small>
        </th>
        <td>{figure(standard * shown.factor)}</td>
        <td>{many ? 'ν large' : `ν${NBSP}${figure(degreesOfFreedom)}`}</td>
      </tr>
    </tfoot>
  );
}
const figure = (value: number): number => Number(value.toPrecision(2));

/** Where the uncertainty comes from, line by line, one step away. */
export function Budget({ shown, parts, whose = 'the', unstudied = false }: BudgetProps) {
  const filled = parts.filter((part) => (part.lines ?? []).length > 0);
  if (filled.length === 0) return null;
  return (
    <details className="panel-part budget">
      <summary>{`Where ${whose} uncertainty comes from`}</summary>
      {filled.map((part) => (
        <table key={part.name}>
          <caption>{`${part.name}, one standard deviation in${NBSP}${(part.shown ?? shown).symbol}`}</caption>
          <thead>
            <tr>
              <th scope="col">Source</th>
              <th scope="col">u</th>
              <th scope="col">Type</th>
            </tr>
          </thead>
          <tbody>
            {(part.lines ?? []).map((line, index) => (
              <tr key={`${line.source}${index}`}>
                <th scope="row">
                  {line.source}
                  {line.note !== undefined && <small>{line.note}</small>}
                </th>
                <td>{figure(line.standard * (part.shown ?? shown).factor)}</td>
                <td>
                  {line.type}
                  {line.degreesOfFreedom === null ? '' : `, ν${NBSP}${Math.round(line.degreesOfFreedom)}`}
                </td>
              </tr>
            ))}
          </tbody>
          <Sum part={part} shown={part.shown ?? shown} />
        </table>
      ))}
      <p className="hint">
        u: one standard deviation; ν: degrees of freedom, where they are few; k: what makes U of u, for about
        95 in 100. Type A: from repeated readings or the fit itself. Type B: from anything else that is known.
      </p>
      {unstudied && (
        <p className="hint">
          No repeatability study is in it, so how far your own placing and focusing scatter is not counted. A
          study is begun on the stylus page, under More.
        </p>
      )}
    </details>
  );
}
