import { useState } from 'react';
import { MARK_WORDS, MARK_KINDS, type MarkDraft, type MarkShape } from '../../shared/index.ts';
import { formatPlain } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { FormDialog } from '../ui/dialog.tsx';
import { ChoiceField, LongField, NumberField, TextField, TickField } from '../ui/fields.tsx';
import { MARK_STATE_WORDS, SHAPE_WORDS } from '../words.ts';
import { type Sizing } from './ground.ts';
import { openForm, readForm, reshaped, sizeUnit, type MarkForm } from './mark-form.ts';
import type { PlaceGround } from './place.ts';
import { formTitle, shownUnit, sizeText } from './mark-text.ts';

type MarkDialogProps = {
  readonly draft: MarkDraft;
  /** Null = a new mark. */
  readonly id: string | null;
  readonly sizing: Sizing;
  readonly ground: PlaceGround | null;
};

const SHAPES = ['point', 'line', 'outline', 'angle'] as const;

export function MarkDialog({ draft, id, sizing, ground }: MarkDialogProps) {
  const { host, attempt, open, refresh, set } = useModel();
  const unit = useDaybook((state) => state.settings.unit);
  const [form, setForm] = useState(() => openForm(draft, unit));
  const [tried, setTried] = useState(false);
  const [meant, setMeant] = useState(false);
  const read = readForm(form, sizing, unit, ground);
  const change = (part: Partial<MarkDraft>): void =>
    setForm((old) => ({ ...old, draft: { ...old.draft, ...part } }));
  const save = async (): Promise<void> => {
    setTried(true);
    const next = read.draft;
    if (next === null || (read.away !== undefined && !meant)) return;
    const saved = await attempt(() =>
      id === null ? host.call('mark.add', { draft: next }) : host.call('mark.update', { id, draft: next }),
    );
    if (saved === null) return;
    set({ seenBy: next.seenBy });
    open(null);
    await refresh();
  };
  const error = (name: string): string | null => (tried ? (read.errors[name] ?? null) : null);
  return (
    <FormDialog
      title={formTitle(draft, id)}
      // Its points were set on the picture.
      holds={id === null}
      onClose={() => open(null)}
      formId="mark-form"
      onSave={save}
      saveLabel="Save mark"
    >
      <ChoiceField
        label="What it is"
        value={form.draft.kind}
        choices={MARK_KINDS.map((value) => ({ value, label: MARK_WORDS[value] }))}
        onChange={(kind) => change({ kind })}
      />
      <ChoiceField
        label="How sure"
        value={form.draft.state}
        choices={(['suspected', 'confirmed', 'rejected'] as const).map((value) => ({
          value,
          label: MARK_STATE_WORDS[value],
        }))}
        onChange={(state) => change({ state })}
      />
      <SizeFields form={form} sizing={sizing} error={error} onChange={setForm} />
      <TextField
        label="Seen by"
        hint="Who looked"
        value={form.draft.seenBy}
        maxLength={200}
        onChange={(seenBy) => change({ seenBy })}
      />
      <TextField
        label="Seen on"
        type="date"
        value={form.draft.seenOn}
        error={error('seenOn')}
        onChange={(seenOn) => change({ seenOn })}
      />
      <LongField label="Note" wide value={form.draft.note} onChange={(note) => change({ note })} />
      {read.away !== undefined && (
        <Background away={read.away} form={form} wrong={tried && !meant} meant={meant} onMeant={setMeant} />
      )}
      <Points form={form} sizing={sizing} error={error} onChange={setForm} />
    </FormDialog>
  );
}

/** A confirmed chip ends playing, so one beside the part is asked about; dirt beside it may be worth a mark. */
function Background(props: {
  readonly away: number;
  readonly form: MarkForm;
  readonly wrong: boolean;
  readonly meant: boolean;
  readonly onMeant: (meant: boolean) => void;
}) {
  const { away, form, wrong, meant, onMeant } = props;
  const unit = useDaybook((state) => state.settings.unit);
  const { factor, symbol } = shownUnit(form.draft.unit, unit);
  const far = formatPlain(away * factor, factor < 1 ? 2 : 0, symbol);
  return (
    <div className="notice field-wide">
      <p>{`This place lies on the background, ${far} from the part’s outline.`}</p>
      <TickField label="It is meant there" checked={meant} onChange={onMeant} />
      {wrong && <p className="field-error">Say that it is meant there, or set it on the part.</p>}
    </div>
  );
}

type PartProps = {
  readonly form: MarkForm;
  readonly sizing: Sizing;
  readonly error: (name: string) => string | null;
  readonly onChange: (form: MarkForm) => void;
};

function SizeFields({ form, sizing, error, onChange }: PartProps) {
  const unit = useDaybook((state) => state.settings.unit);
  const counted = sizeUnit(form, sizing);
  const { symbol } = shownUnit(counted, unit);
  const drawn = readForm({ ...form, size: '', doubt: '' }, sizing, unit).draft?.size ?? null;
  const name = counted === 'deg' ? (form.draft.kind === 'bent-cantilever' ? 'Bend' : 'Angle') : 'Size';
  const asDrawn =
    drawn === null
      ? 'A point has no size of its own'
      : `Drawn: ${sizeText(drawn, unit)}; leave empty to keep that`;
  return (
    <>
      <NumberField
        label={name}
        suffix={symbol}
        hint={asDrawn}
        value={form.size}
        error={error('size')}
        onChange={(size) => onChange({ ...form, size })}
      />
      <NumberField
        label={`${name}: expanded uncertainty`}
        suffix={symbol}
        hint="Only with a typed value"
        value={form.doubt}
        error={error('doubt')}
        onChange={(doubt) => onChange({ ...form, doubt })}
      />
    </>
  );
}

function pointName(shape: MarkShape, index: number, bend: boolean): string {
  if (shape.type === 'angle') {
    const names = bend ? ['Root', 'Bend', 'Tip'] : ['First arm', 'Corner', 'Second arm'];
    return names[index];
  }
  if (shape.type === 'line') return index === 0 ? 'First end' : 'Other end';
  return shape.type === 'point' ? 'Place' : `Point ${index + 1}`;
}

function Points({ form, sizing, error, onChange }: PartProps) {
  const { shape, unit, frame, kind } = form.draft;
  const symbol = { um: 'µm', px: 'px', 'percent-of-shank': '% of shank' }[unit];
  const type = (index: number, axis: 0 | 1, text: string): void =>
    onChange({
      ...form,
      points: form.points.map((point, i) =>
        i === index ? ([axis === 0 ? text : point[0], axis === 1 ? text : point[1]] as const) : point,
      ),
    });
  return (
    <fieldset className="field-wide mark-points">
      <legend>Shape and place</legend>
      <ChoiceField
        label="Shape"
        value={shape.type}
        choices={SHAPES.map((value) => ({ value, label: SHAPE_WORDS[value] }))}
        onChange={(next) => onChange(reshaped(form, next, 10 * sizing.pointing))}
      />
      <p className="hint">
        {frame === 'tip'
          ? `In the tip frame, ${symbol} from the tip’s centre: x to the right, y towards the apex.`
          : 'In this picture, pixels from its upper left corner: x to the right, y down. The picture has no tip frame yet.'}
      </p>
      {form.points.map(([x, y], index) => {
        const name = pointName(shape, index, kind === 'bent-cantilever');
        return (
          <div className="mark-point" key={name}>
            <NumberField
              label={`${name}: x`}
              suffix={symbol}
              value={x}
              error={error(`point${index}`)}
              onChange={(text) => type(index, 0, text)}
            />
            <NumberField
              label={`${name}: y`}
              suffix={symbol}
              value={y}
              onChange={(text) => type(index, 1, text)}
            />
          </div>
        );
      })}
    </fieldset>
  );
}
