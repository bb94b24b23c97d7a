import {
  degreesBetween,
  MARK_OF_SUSPICION,
  MARK_WORDS,
  markSizeWords,
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

function sizeText(mark: Mark): string {
  const words = markSizeWords(
    mark,
    (value, unit) => measured(value, UNITS[unit]),
    (value, unit) => plain(value, 1, UNITS[unit]),
  );
  return words === '' ? 'no size' : words;
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
              <td>${sizeText(mark)}</td>
              <td>${mark.view}</td>
              <td>${dayText(mark.seenOn)}${mark.seenBy === '' ? '' : `, ${mark.seenBy}`}</td>
            </tr>`,
        )}
      </tbody>
    </table>`;
}
