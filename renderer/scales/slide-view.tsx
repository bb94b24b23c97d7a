import type { PictureRef, SlideAnswer } from '../../shared/index.ts';
import { formatMeasured, formatPlain, NBSP } from '../format.ts';
import { useShown } from './cards.ts';

/** What was found on a ruled slide: the lines over the picture, and every value in text. */
export function SlideView({
  picture,
  report,
}: {
  readonly picture: PictureRef;
  readonly report: SlideAnswer;
}) {
  return (
    <div className="slide-view">
      <SlidePicture picture={picture} report={report} />
      <SlideValues report={report} />
    </div>
  );
}

export function SlidePicture({
  picture,
  report,
}: {
  readonly picture: PictureRef;
  readonly report: SlideAnswer | null;
}) {
  const shown = useShown(picture, 1600);
  if (shown === 'failed') return <p className="notice">The picture of the slide cannot be shown.</p>;
  return (
    <figure className="slide-stage">
      {shown === null ? (
        <span className="picture picture-wait" aria-hidden="true" />
      ) : (
        <img
          src={shown.url}
          alt={report === null ? 'The slide' : 'The slide with the lines that were found'}
        />
      )}
      {report !== null && (
        <svg viewBox={`-0.5 -0.5 ${report.widthPx} ${report.heightPx}`} aria-hidden="true">
          {report.drawing.lines.map(([number, x1, y1, x2, y2]) => (
            <line key={number} x1={x1} y1={y1} x2={x2} y2={y2} vectorEffect="non-scaling-stroke" />
          ))}
        </svg>
      )}
    </figure>
  );
}

const SCALE_UNIT = { factor: 1, symbol: 'µm/px' };

export function SlideValues({ report }: { readonly report: SlideAnswer }) {
  const { lines, field, pixelShape } = report;
  const rows: readonly (readonly [string, string])[] = [
    ['Scale', formatMeasured(report.scaleUmPerPx, SCALE_UNIT)],
    ['Frame', `${report.widthPx}${NBSP}×${NBSP}${report.heightPx}${NBSP}px`],
    ['Lines', `${lines.used} found${lines.missing === 0 ? '' : `, ${lines.missing} missing in between`}`],
    ['Direction across them', formatPlain(report.acrossDeg, 2, '°')],
    [
      'Off an even rule',
      `${formatPlain(lines.scatterPx, 3, 'px')} typically, ${formatPlain(lines.largestResidualPx, 2, 'px')} at most`,
    ],
    ['Bend of the lines', formatPlain(field.bendPx, 2, 'px')],
    [
      'Lens distortion at the picture’s corner',
      field.cornerPercent === undefined || field.cornerPercent.value === 0
        ? 'none seen'
        : formatMeasured(field.cornerPercent, { factor: 1, symbol: '%' }),
    ],
    ['Change of scale over the field', formatPlain(field.scaleChangePercent, 2, '%')],
    [
      'Shape of the pixels',
      pixelShape === null
        ? 'not known; a second picture of the slide, turned by about a quarter, would tell'
        : `${formatMeasured({ value: pixelShape.aspect, expanded: pixelShape.aspectExpanded }, { factor: 1, symbol: '' })} high to wide: ${pixelShape.square ? 'square' : 'not square'}`,
    ],
  ];
  return (
    <div className="slide-values">
      <dl className="facts facts-table" aria-label="Found on the slide">
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      {report.warnings.map((warning) => (
        <p className="notice" key={warning.code} role="status">
          {warning.message}
        </p>
      ))}
      <Residuals report={report} />
      <details>
        <summary>Where the uncertainty comes from</summary>
        <table>
          <thead>
            <tr>
              <th scope="col">Source</th>
              <th scope="col">One standard deviation</th>
              <th scope="col">Note</th>
            </tr>
          </thead>
          <tbody>
            {report.budget.map((line) => (
              <tr key={line.source}>
                <td>{line.source}</td>
                <td>{`${Number(line.standard.toPrecision(2))}${NBSP}µm/px`}</td>
                <td>{line.note ?? ''}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </div>
  );
}

const WIDE = 320;
const HIGH = 90;

/** How far each line lies off an even rule: distortion shows as a curve, dirt as a single one. */
function Residuals({ report }: { readonly report: SlideAnswer }) {
  const { lines } = report.drawing;
  if (lines.length < 2) return null;
  const last = lines[lines.length - 1][0];
  const most = Math.max(0.1, report.lines.largestResidualPx) * 1.15;
  const x = (number: number): number => 8 + (number / Math.max(1, last)) * (WIDE - 16);
  const y = (residual: number): number => HIGH / 2 - (residual / most) * (HIGH / 2 - 6);
  return (
    <figure className="slide-residuals">
      <figcaption className="hint">
        {`Each line off an even rule, largest ${formatPlain(report.lines.largestResidualPx, 2, 'px')}`}
      </figcaption>
      <svg viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label="Distance of each line from an even rule">
        <line className="axis" x1="0" x2={WIDE} y1={HIGH / 2} y2={HIGH / 2} />
        {lines.map(([number, , , , , residual]) => (
          <g key={number}>
            <line className="stem" x1={x(number)} x2={x(number)} y1={HIGH / 2} y2={y(residual)} />
            <circle cx={x(number)} cy={y(residual)} r="2.4" />
          </g>
        ))}
      </svg>
      <details>
        <summary>Line by line</summary>
        <ol className="residual-list" start={1}>
          {lines.map(([number, , , , , residual]) => (
            <li key={number} value={number + 1}>
              {formatPlain(residual, 3, 'px')}
            </li>
          ))}
        </ol>
      </details>
    </figure>
  );
}
