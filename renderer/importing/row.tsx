import { useMemo, useState } from 'react';
import type { Capture } from '../../shared/index.ts';
import { DATE_SOURCE } from '../format.ts';
import { useDaybook } from '../state/use.ts';
import { ChoiceField, TextField, TickField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { LIGHT_WORDS, VIEW_WORDS } from '../words.ts';
import type { DateText } from './dates.ts';
import { cardContext, readRow, type IntakeRow } from './intake.ts';
import { ScaleFields } from './scale-fields.tsx';
import { carryCandidates } from './scale.ts';
import type { Intake } from './use-intake.ts';

const choices = <T extends string>(words: Readonly<Record<T, string>>) =>
  (Object.keys(words) as T[]).map((value) => ({ value, label: words[value] }));
export const VIEWS = choices(VIEW_WORDS);
export const LIGHTS = choices(LIGHT_WORDS);
export const MIRRORED = choices({ unknown: 'Not known', no: 'No', yes: 'Yes' });

type RowProps = { readonly row: IntakeRow; readonly intake: Intake; readonly tried: boolean };

export function IntakeRowView({ row, intake, tried }: RowProps) {
  const { url } = row;
  return (
    <li className={`intake-row intake-${row.status}`}>
      <div className="intake-picture">
        <FilePreview url={url} />
        <strong className="intake-name">{row.file.name}</strong>
        {row.offer !== null && (
          <span className="hint">{`${row.offer.widthPx} × ${row.offer.heightPx} px`}</span>
        )}
        <button
          type="button"
          className="button button-quiet"
          disabled={row.status === 'adding'}
          onClick={() => intake.leaveOut(row.key)}
        >
          <Icon name="close" />
          Leave out
          <span className="visually-hidden">{`: ${row.file.name}`}</span>
        </button>
      </div>
      <div className="intake-answers">
        {(row.status === 'waiting' || row.status === 'reading') && (
          <p className="hint" role="status">
            {row.status === 'reading' ? 'Reading…' : 'Waiting'}
          </p>
        )}
        {row.problem !== null && <p className="field-error">{row.problem}</p>}
        {row.offer?.warnings.map((warning) => (
          <p className="notice" key={warning}>
            {warning}
          </p>
        ))}
        {row.offer?.duplicateOf && (
          <p className="notice">
            {`The same picture is already in the daybook, with “${row.offer.duplicateOf.stylusName}”. Leave it out unless you mean to have it twice.`}
          </p>
        )}
        {row.offer !== null && <Questions row={row} intake={intake} tried={tried} url={url} />}
      </div>
    </li>
  );
}

function Questions({ row, intake, tried, url }: RowProps & { readonly url: string }) {
  const cards = useDaybook((state) => state.cards) ?? [];
  const { answers, offer } = row;
  const { errors } = readRow(row, intake.pages, intake.cards);
  const candidates = useMemo(
    () => (offer === null ? [] : carryCandidates(intake.pages, { ...offer, microscope: answers.microscope })),
    [intake.pages, offer, answers.microscope],
  );
  const set = (change: Parameters<Intake['answer']>[1]): void => intake.answer(row.key, change);
  const styluses = cards.map((card) => ({ value: card.stylus.id, label: card.stylus.name }));
  return (
    <fieldset className="form" disabled={row.status === 'adding'}>
      <legend className="visually-hidden">{row.file.name}</legend>
      <ChoiceField
        label="Stylus"
        value={answers.stylusId}
        choices={answers.stylusId === '' ? [{ value: '', label: 'choose…' }, ...styluses] : styluses}
        error={tried ? errors.stylus : null}
        onChange={(stylusId) => set({ stylusId })}
      />
      <ChoiceField label="View" value={answers.view} choices={VIEWS} onChange={(view) => set({ view })} />
      <ChoiceField
        label="Light"
        value={answers.light}
        choices={LIGHTS}
        onChange={(light) => set({ light })}
      />
      <DateFields date={answers.date} error={tried ? errors.date : null} onChange={(date) => set({ date })} />
      <TextField
        label="Microscope"
        hint="Your name for it; needed to carry a scale over"
        maxLength={200}
        value={answers.microscope}
        onChange={(microscope) => set({ microscope })}
      />
      <ChoiceField
        label="Mirrored by the camera?"
        value={answers.mirrored}
        choices={MIRRORED}
        onChange={(mirrored) => set({ mirrored })}
      />
      <ScaleFields
        text={answers.scale}
        candidates={candidates}
        context={offer === null ? null : cardContext(intake.cards, offer, answers.microscope)}
        picture={offer === null ? null : { url, widthPx: offer.widthPx, heightPx: offer.heightPx }}
        error={tried ? errors.scale : null}
        onChange={(scale) => set({ scale })}
      />
      <TickField
        label="This is the baseline of its view"
        checked={answers.isBaseline}
        onChange={(isBaseline) => set({ isBaseline })}
      />
    </fieldset>
  );
}

export function DateFields(props: {
  readonly date: DateText;
  readonly error: string | null;
  readonly onChange: (date: DateText) => void;
}) {
  const { date, error, onChange } = props;
  const found = date.found !== null && date.found.wall.slice(0, 10) === date.day && !date.unknown;
  return (
    <div className="field">
      <TextField
        label="Taken on"
        type="date"
        value={date.unknown ? '' : date.day}
        hint={dateHint(date, found)}
        error={error}
        onChange={(day) => onChange({ ...date, day, unknown: false })}
      />
      <TickField
        label="Date unknown"
        checked={date.unknown}
        onChange={(unknown) => onChange({ ...date, unknown })}
      />
    </div>
  );
}

function dateHint(date: DateText, found: boolean): string {
  if (found && date.found !== null) return DATE_SOURCE[date.found.source];
  return date.day === '' ? 'The picture does not say' : 'typed in';
}

/** Some formats (TIFF) are read by the host but not shown by a browser. */
function FilePreview({ url }: { readonly url: string }) {
  const [failed, setFailed] = useState(false);
  if (failed) return <span className="picture picture-none">no preview of this format</span>;
  return <img className="picture" src={url} alt="" onError={() => setFailed(true)} />;
}

export type MirroredText = (typeof MIRRORED)[number]['value'];
export const mirroredText = (mirrored: Capture['mirrored']): MirroredText =>
  mirrored === null ? 'unknown' : mirrored ? 'yes' : 'no';
