import type { ReactNode } from 'react';
import type { ComparisonAnswer, Comparison, Entry, Mark, SetUp, StylusPage } from '../../shared/index.ts';
import {
  DATE_SOURCE,
  formatDate,
  formatDated,
  formatFlat,
  formatHours,
  lengthUnit,
  NBSP,
  type LengthUnit,
} from '../format.ts';
import { markSizeText, markTitle } from '../marks/mark-text.ts';
import { FATE_WORDS } from '../firstset/fate-words.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Icon, type IconName } from '../ui/icons.tsx';
import { amountText, ENTRY_WORDS, VIEW_SHORT } from '../words.ts';
import { setUpWords } from './set-up.ts';
import type { TimelineItem, TimelineKind } from './timeline-data.ts';

const ICONS: Readonly<Record<TimelineKind, IconName>> = {
  capture: 'picture',
  comparison: 'compare',
  mark: 'mark',
  playing: 'clock',
  cleaning: 'brush',
  listening: 'ear',
  'set-up': 'tool',
  note: 'note',
  decision: 'flag',
  replacement: 'swap',
};

export function TimelineRow(props: {
  readonly item: TimelineItem;
  readonly page: StylusPage;
  /** What each value was before a set-up change. */
  readonly before: SetUp | null;
}) {
  const { item, page, before } = props;
  const { open, bin } = useModel();
  const unit = useDaybook((state) => state.settings.unit);
  if (item.kind === 'capture') {
    const { capture } = item;
    const name = `Picture, ${VIEW_SHORT[capture.view]}`;
    return (
      <Row
        item={item}
        title={
          <a href={writeRoute({ screen: 'look', stylusId: page.stylus.id, captureId: capture.id })}>{name}</a>
        }
        tag={capture.isBaseline ? 'baseline' : ''}
        text={capture.notes}
        detail={
          capture.taken === null
            ? 'no date yet'
            : `${formatDated(capture.taken)}, ${DATE_SOURCE[capture.taken.source]}`
        }
        what={`${name} of ${formatDated(capture.taken)}`}
        onEdit={() => open({ kind: 'capture', capture })}
        onBin={() => void bin('capture', capture.id, 'The picture')}
      />
    );
  }
  if (item.kind === 'comparison') {
    const { comparison, later } = item;
    const { baselineId, laterId } = comparison;
    const name = `Comparison with ${later === null ? 'a picture in the bin' : formatDated(later.taken)}`;
    return (
      <Row
        item={item}
        title={
          <a href={writeRoute({ screen: 'bench', stylusId: page.stylus.id, baselineId, laterId })}>{name}</a>
        }
        tag={
          !comparison.report.ok
            ? 'no answer'
            : page.captures.some(({ id }) => id === baselineId)
              ? ''
              : 'sibling as baseline'
        }
        text={comparisonText(comparison, unit)}
        detail={comparison.hoursAtLater === null ? '' : `at ${formatHours(comparison.hoursAtLater)}`}
        what={name}
        onBin={() => void bin('comparison', comparison.id, 'The comparison')}
      />
    );
  }
  if (item.kind === 'mark') {
    const { mark } = item;
    const name = markTitle(mark);
    const size = markSizeText(mark, unit);
    const captureId = mark.captureId;
    return (
      <Row
        item={item}
        title={<a href={writeRoute({ screen: 'look', stylusId: page.stylus.id, captureId })}>{name}</a>}
        tag={VIEW_SHORT[mark.view]}
        text={[size, mark.note].filter((part) => part !== '').join('. ')}
        detail={markDetail(mark, page)}
        what={`${name}, of ${formatDate(mark.seenOn)}`}
        onBin={() => void bin('mark', mark.id, name)}
      />
    );
  }
  const { entry } = item;
  const name = ENTRY_WORDS[entry.kind];
  return (
    <Row
      item={item}
      title={name}
      tag={
        entry.cleaned ? FATE_WORDS[entry.cleaned.residue] : entry.played?.estimated === true ? 'estimate' : ''
      }
      text={[setUpLine(entry, before), entry.cleaned?.message ?? '', entry.text]
        .filter((part) => part !== '')
        .join('\n')}
      detail={playedText(entry)}
      what={`${name} of ${formatDate(entry.date)}`}
      onEdit={() =>
        open(
          entry.kind === 'playing'
            ? { kind: 'playing', stylusId: entry.stylusId, entry }
            : { kind: 'entry', stylusId: entry.stylusId, entryKind: entry.kind, entry },
        )
      }
      onBin={() => void bin('entry', entry.id, `${name} of ${formatDate(entry.date)}`)}
    />
  );
}

type RowProps = {
  readonly item: TimelineItem;
  readonly title: ReactNode;
  readonly tag: string;
  readonly text: string;
  readonly detail: string;
  /** Names the row for the buttons' labels. */
  readonly what: string;
  readonly onEdit?: () => void;
  readonly onBin: () => void;
};

function Row({ item, title, tag, text, detail, what, onEdit, onBin }: RowProps) {
  return (
    <div className={`timeline-row timeline-${item.kind}`}>
      <span className="timeline-date">{item.date === null ? '' : formatDate(item.date).slice(0, -5)}</span>
      <span className="timeline-icon">
        <Icon name={ICONS[item.kind]} />
      </span>
      <div className="timeline-body">
        <p className="timeline-title">
          {title}
          {tag !== '' && <span className="tag">{tag}</span>}
          {detail !== '' && <span className="hint">{detail}</span>}
        </p>
        {text !== '' && <p className="timeline-text">{text}</p>}
      </div>
      <span className="row-actions">
        {onEdit !== undefined && (
          <button
            type="button"
            className="button button-quiet button-icon"
            aria-label={`Edit: ${what}`}
            onClick={onEdit}
          >
            <Icon name="edit" />
          </button>
        )}
        <button
          type="button"
          className="button button-quiet button-icon"
          aria-label={`Put into the bin: ${what}`}
          onClick={onBin}
        >
          <Icon name="bin" />
        </button>
      </span>
    </div>
  );
}

/** The day of the row is the day of looking; the picture may be older. */
function markDetail(mark: Mark, page: StylusPage): string {
  const picture = page.captures.find(({ id }) => id === mark.captureId);
  const on = picture === undefined ? '' : `on the picture of ${formatDated(picture.taken)}`;
  return [on, mark.seenBy === '' ? '' : `seen by ${mark.seenBy}`].filter((part) => part !== '').join(', ');
}

export function playedText({ played, date }: Pick<Entry, 'played' | 'date'>): string {
  if (played === null) return '';
  const hours = formatHours(played.hours);
  const own =
    typeof played.standardHours === 'number' ? ` ±${NBSP}${formatHours(2 * played.standardHours)}` : '';
  const since = typeof played.from === 'string' ? `, since ${formatDate(played.from)}` : '';
  if (played.unit === 'hours') return hours + own + (date === played.from ? '' : since);
  return `${amountText(played.amount, played.unit)}, ${hours}${own}${since}`;
}

function setUpLine({ setUp }: Entry, before: SetUp | null): string {
  if (setUp === null || setUp === undefined) return '';
  const words = setUpWords(setUp, before);
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
}

export function comparisonText({ report }: Pick<Comparison, 'report'>, unit: LengthUnit): string {
  if (!report.ok) return report.reason.message;
  const shown = lengthUnit(unit, report.unit ?? 'um');
  const side = (name: 'left' | 'right'): string => {
    const flat: ComparisonAnswer['flats']['left'] = report.flats[name];
    return `${name} ${formatFlat(flat.laterUm, flat.detected, flat.detectionLimitUm, shown)}`;
  };
  return `Flats: ${side('left')}; ${side('right')}.`;
}
