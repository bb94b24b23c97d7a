import {
  degreesBetween,
  MARK_OF_SUSPICION,
  MARK_WORDS,
  SAME_PLACE_DEG,
  type Mark,
  type MarkSize,
  type StylusPage,
  type Suspicion,
} from '../../../shared/index.ts';
import { dayText, measured, plain } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

const UNITS: Readonly<Record<MarkSize['unit'], string>> = {
  um: '\u00B5m',
  deg: '°',
  px: 'px',
  'percent-of-shank': '% of shank',
};

function sizeText(size: MarkSize | null): string {
  if (size === null) return 'no size';
  const unit = UNITS[size.unit];
  if (size.expanded !== null) return measured({ value: size.value, expanded: size.expanded }, unit);
  return `${plain(size.value, 1, unit)}, uncertainty not stated`;
}

/** The newest mark among those of a picture that answers what the program suspects there; null while nobody has looked. */
export function answerTo(found: Suspicion, marks: readonly Mark[]): Mark | null {
  const onTip = found.kind === 'chip' || found.kind === 'residue';
  const near = (mark: Mark): boolean =>
    !onTip ||
    (mark.proposed !== null && degreesBetween(mark.proposed.angleDeg, found.angleDeg) <= SAME_PLACE_DEG);
  return marks.findLast((mark) => mark.kind === MARK_OF_SUSPICION[found.kind] && near(mark)) ?? null;
}

const bySuspicion = (mark: Mark): string =>
  mark.proposed === null ? '' : ', first suspected by the program';

/** What somebody saw and stands for; what was rejected is not printed. */
export function markTable({ marks }: StylusPage): Markup | null {
  const kept = marks.filter((mark) => mark.state !== 'rejected');
  if (kept.length === 0) return null;
  return html`<h2>Marked by whoever looked</h2>
    <table class="numbers">
      <thead>
        <tr>
          <th scope="col">What</th>
          <th scope="col">How sure</th>
          <th scope="col">Size</th>
          <th scope="col">View</th>
          <th scope="col">Seen</th>
        </tr>
      </thead>
      <tbody>
        ${kept.map(
          (mark) =>
            html`<tr>
              <th scope="row">${MARK_WORDS[mark.kind]}${mark.note === '' ? '' : `: ${mark.note}`}</th>
              <td>${mark.state}${bySuspicion(mark)}</td>
              <td>${sizeText(mark.size)}</td>
              <td>${mark.view}</td>
              <td>${dayText(mark.seenOn)}${mark.seenBy === '' ? '' : `, ${mark.seenBy}`}</td>
            </tr>`,
        )}
      </tbody>
    </table>`;
}
