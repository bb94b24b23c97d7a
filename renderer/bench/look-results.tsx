import { imageToTip, type Pose } from '../../shared/geometry.ts';
import type { ExaminationAnswer, ExaminationReport } from '../../shared/index.ts';
import { formatFlat, formatMeasured, formatPlain, lengthUnit, type LengthUnit } from '../format.ts';
import { Refused } from '../ui/bits.tsx';
import type { DrawnFacet } from './draw-facets.ts';
import { FlatBar } from './flat-bar.tsx';
import { Budget, digitsFor, Interval, Line, Warnings } from './numbers.tsx';

/** What was measured in one picture alone. */
export function Examination({
  report,
  unit,
}: {
  readonly report: ExaminationReport | null;
  readonly unit: LengthUnit;
}) {
  if (report === null)
    return (
      <p className="hint">
        Not examined yet. The examination says at once whether this picture is good enough, and for how small
        a flat.
      </p>
    );
  if (!report.ok) return <Refused sentence={report.reason.message} />;
  return <Examined report={report} unit={unit} />;
}

function Examined({ report, unit }: { readonly report: ExaminationAnswer; readonly unit: LengthUnit }) {
  const shown = lengthUnit(unit, report.unit ?? 'um');
  const { flats, tip, facets } = report;
  const most =
    flats === undefined
      ? 1
      : Math.max(
          ...[flats.left, flats.right].map((one) =>
            Math.max(one.widthUm.value + one.widthUm.expanded, 1.3 * one.detectionLimitUm),
          ),
        );
  const limit =
    flats === undefined ? null : Math.max(flats.left.detectionLimitUm, flats.right.detectionLimitUm);
  return (
    <>
      {limit !== null && (
        <p className="good-for">
          {`Good enough to show a flat of ${formatPlain(limit * shown.factor, digitsFor(shown), shown.symbol)} or more.`}
        </p>
      )}
      {flats !== undefined && (
        <section className="panel-part" aria-labelledby="look-flats">
          <h2 id="look-flats">Flat widths, from this picture alone</h2>
          {(['left', 'right'] as const).map((side) => (
            <div className="side-flat" key={side}>
              <h3 className={`side-name side-${side}`}>{side === 'left' ? 'Left wall' : 'Right wall'}</h3>
              <p className={flats[side].detected ? 'big-value' : 'big-value big-value-not'}>
                {formatFlat(flats[side].widthUm, flats[side].detected, flats[side].detectionLimitUm, shown)}
              </p>
              <Interval measured={flats[side].detected ? flats[side].widthUm : null} shown={shown} />
              <FlatBar
                flat={flats[side].widthUm}
                detected={flats[side].detected}
                limit={flats[side].detectionLimitUm}
                most={most}
                side={side}
              />
            </div>
          ))}
        </section>
      )}
      {facets !== undefined && facets.length > 0 && (
        <section className="panel-part" aria-labelledby="facets">
          <h2 id="facets">Bright facets</h2>
          {facets.some(({ outlinePx }) => outlinePx !== undefined) && (
            <p className="hint">
              Outlined in the picture, as they were fitted, with these values beside them.
            </p>
          )}
          <dl className="numbers">
            {facets.map((facet) => (
              <Line
                key={facet.side}
                name={facet.side === 'left' ? 'Left' : 'Right'}
                value={`${formatMeasured(facet.alongUm, shown)} along the groove`}
                note={`${formatMeasured(facet.acrossUm, shown)} across as seen${
                  facet.widthUm === undefined
                    ? ''
                    : `: a flat ${formatMeasured(facet.widthUm, shown)} wide, tilted by 45°`
                }`}
              />
            ))}
            {report.groove !== undefined && (
              <Line
                name="Groove in the picture"
                value={formatMeasured(
                  { value: report.groove.directionDeg, expanded: report.groove.expandedDeg },
                  { factor: 1, symbol: '°' },
                )}
                note="anticlockwise from level, at right angles to the line through both patches"
              />
            )}
          </dl>
        </section>
      )}
      <section className="panel-part" aria-labelledby="look-trust">
        <h2 id="look-trust">How good it is</h2>
        <dl className="numbers">
          {tip !== undefined && (
            <Line
              name="Tip radius"
              value={formatMeasured(tip.radiusUm, shown)}
              note={`from an arc of ${formatPlain(tip.arcDeg, 0, '')}°`}
            />
          )}
          {report.sharpness.edgeUm > 0 && (
            <Line
              name="Edge width"
              value={formatPlain(report.sharpness.edgeUm * shown.factor, digitsFor(shown), shown.symbol)}
            />
          )}
          {report.shapeResidualUm !== undefined && (
            <Line
              name="Outline against the fitted shape"
              value={formatPlain(report.shapeResidualUm * shown.factor, digitsFor(shown) + 1, shown.symbol)}
            />
          )}
        </dl>
      </section>
      <Warnings warnings={report.warnings} />
      {facets !== undefined && facets.length > 0 && (
        <Budget
          shown={shown}
          parts={[
            ...facets.flatMap((facet) => [
              { name: `${facet.side} facet, along the groove`, lines: facet.budget, of: facet.alongUm },
              {
                name: `${facet.side} facet, across as seen`,
                lines: facet.acrossBudget,
                of: facet.acrossUm,
              },
              {
                name: `${facet.side} facet, width of the flat`,
                lines: facet.widthBudget,
                ...(facet.widthUm === undefined ? {} : { of: facet.widthUm }),
              },
            ]),
            {
              name: 'direction of the groove',
              lines: report.groove?.budget,
              shown: { factor: 1, symbol: '°' },
            },
          ]}
        />
      )}
      {flats !== undefined && (
        <Budget
          shown={shown}
          parts={[
            ...(['left', 'right'] as const).map((side) => ({
              name: `${side} flat`,
              lines: flats[side].budget,
              of: flats[side].widthUm,
            })),
            ...(tip === undefined ? [] : [{ name: 'tip radius', lines: tip.budget, of: tip.radiusUm }]),
          ]}
          unstudied={report.repeatability === undefined}
        />
      )}
    </>
  );
}

/** The flats' patches as they lie in the stage's frame, with what stands in the panel in fewer words. */
export function outlinedFacets(
  report: ExaminationAnswer | null,
  pose: Pose,
  unit: LengthUnit,
): readonly DrawnFacet[] {
  if (report === null) return [];
  const shown = lengthUnit(unit, report.unit ?? 'um');
  return (report.facets ?? []).flatMap(({ side, outlinePx, alongUm, acrossUm }) => {
    if (outlinePx === undefined) return [];
    const outline = outlinePx.map(([x, y]): [number, number] => {
      const point = imageToTip(pose, { x, y });
      return [point.x, point.y];
    });
    const name = side === 'left' ? 'Left' : 'Right';
    const lines = [
      `${name}: ${formatMeasured(alongUm, shown)} along`,
      `${formatMeasured(acrossUm, shown)} across`,
    ];
    return [{ side, outline, lines }];
  });
}
