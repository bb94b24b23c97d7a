import { combineBudget } from '../../../core/uncertainty/budget.ts';
import type {
  BudgetLine,
  CantileverReport,
  ComparisonAnswer,
  ExaminationReport,
  Measured,
} from '../../../shared/index.ts';
import { areaUnit, lengthUnit } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** Where every uncertainty on the sheet comes from, line by line; results of older engines have fewer lines, or none. */
type Part = {
  readonly name: string;
  readonly of: Measured;
  readonly unit: string;
  readonly lines: readonly BudgetLine[] | undefined;
};

const figure = (value: number): string => String(Number(value.toPrecision(2)));
const dofText = (dof: number): string => (dof > 200 ? 'large' : figure(dof));

function partRow({ name, of, unit, lines = [] }: Part): Markup {
  const { standard, degreesOfFreedom, coverageFactor } = combineBudget(lines);
  return html`<tr>
    <th scope="row">${name}, ${unit}</th>
    <td class="wide">
      ${lines.map(
        (line, i) =>
          html`${i > 0 ? '; ' : ''}${line.source} ${figure(line.standard)}
          (${line.type}${line.degreesOfFreedom === null ? '' : `, ν ${figure(line.degreesOfFreedom)}`})`,
      )}
    </td>
    <td>${figure(standard)}</td>
    <td>${dofText(degreesOfFreedom)}</td>
    <td>${coverageFactor.toFixed(2)}</td>
    <td>${figure(of.expanded)}${of.low === undefined ? '' : ' lopsided'}</td>
  </tr>`;
}

function table(parts: readonly Part[], what = 'the'): Markup | null {
  const filled = parts.filter(({ lines = [] }) => lines.length > 0);
  if (filled.length === 0) return null;
  const notes = new Set(
    filled.flatMap(({ lines = [] }) =>
      lines.flatMap(({ source, note }) => (note === undefined ? [] : [`${source}: ${note}`])),
    ),
  );
  return html`<h2>Where ${what} uncertainty comes from</h2>
    <table class="numbers small split">
      <thead>
        <tr>
          <th scope="col">Value</th>
          <th scope="col">Lines of its budget, one standard deviation each</th>
          <th scope="col">u</th>
          <th scope="col">ν</th>
          <th scope="col">k</th>
          <th scope="col">U</th>
        </tr>
      </thead>
      <tbody>
        ${filled.map(partRow)}
      </tbody>
    </table>
    <p class="small">
      Type A: from repeated readings or the fit itself; B: from anything else that is known. u: the lines
      together; ν: its degrees of freedom (Welch-Satterthwaite); U = k u, about 95 in 100.
      ${[...notes].join('. ')}.
    </p>`;
}

export function comparisonBudgets(report: ComparisonAnswer): Markup | null {
  const unit = lengthUnit(report.unit ?? 'um');
  const area = areaUnit(report.unit ?? 'um');
  const { flats, tip, contour } = report;
  const of = contour.budgets;
  return table([
    ...(['left', 'right'] as const).flatMap((side): Part[] => {
      const { laterUm, baselineUm, changeUm, budget, baselineBudget, changeBudget } = flats[side];
      return [
        { name: `Flat ${side}, baseline`, of: baselineUm, unit, lines: baselineBudget },
        { name: `Flat ${side}, later`, of: laterUm, unit, lines: budget },
        { name: `Flat ${side}, change`, of: changeUm, unit, lines: changeBudget },
      ];
    }),
    { name: 'Tip radius', of: tip.radiusUm, unit, lines: tip.budget },
    { name: 'Largest recession', of: contour.largestRecessionUm, unit, lines: of?.largestRecessionUm },
    { name: 'Area lost', of: contour.areaLostUm2, unit: area, lines: of?.areaLostUm2 },
    { name: 'Largest growth', of: contour.largestGrowthUm, unit, lines: of?.largestGrowthUm },
    { name: 'Area gained', of: contour.areaGainedUm2, unit: area, lines: of?.areaGainedUm2 },
  ]);
}

export function examinationBudgets(report: ExaminationReport | null, what?: string): Markup | null {
  if (report === null || !report.ok) return null;
  const unit = lengthUnit(report.unit ?? 'um');
  const { flats, tip, facets = [], groove } = report;
  return table(
    [
      ...(flats === undefined
        ? []
        : (['left', 'right'] as const).map((side): Part => ({
            name: `Flat ${side}`,
            of: flats[side].widthUm,
            unit,
            lines: flats[side].budget,
          }))),
      ...(tip === undefined ? [] : [{ name: 'Tip radius', of: tip.radiusUm, unit, lines: tip.budget }]),
      ...facets.flatMap((one): Part[] => {
        const name = `Bright patch ${one.side}`;
        return [
          { name: `${name}, along the groove`, of: one.alongUm, unit, lines: one.budget },
          { name: `${name}, across as seen`, of: one.acrossUm, unit, lines: one.acrossBudget },
          ...(one.widthUm === undefined
            ? []
            : [{ name: `${name}, width of its flat`, of: one.widthUm, unit, lines: one.widthBudget }]),
        ];
      }),
      ...(groove === undefined
        ? []
        : [
            {
              name: 'Direction of the groove',
              of: { value: groove.directionDeg, expanded: groove.expandedDeg },
              unit: '°',
              lines: groove.budget,
            },
          ]),
    ],
    what,
  );
}

export function cantileverBudgets(report: CantileverReport | null): Markup | null {
  if (report === null || !report.ok) return null;
  const { budgets, bendAngleDeg, straightnessUm, skewDeg } = report.cantilever;
  const unit = report.unit === 'percent-of-length' ? '% of its length' : 'µm';
  return table(
    [
      { name: 'Bend of the cantilever', of: bendAngleDeg, unit: '°', lines: budgets?.bendAngleDeg },
      { name: 'Straightness', of: straightnessUm, unit, lines: budgets?.straightnessUm },
      ...(skewDeg === undefined
        ? []
        : [{ name: 'Skew at the root', of: skewDeg, unit: '°', lines: budgets?.skewDeg }]),
    ],
    'the cantilever’s',
  );
}
