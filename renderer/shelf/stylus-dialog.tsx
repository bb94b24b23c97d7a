import { useState } from 'react';
import { afterPlayed, UM_PER_MIL, type Stylus } from '../../shared/index.ts';
import { lengthUnit, NBSP, parseNumber } from '../format.ts';
import { ledgerOf } from '../state/hours.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { FormDialog } from '../ui/dialog.tsx';
import { LongField, NumberField, TextField, TickField } from '../ui/fields.tsx';
import { GrooveFields } from '../stylus/groove-fields.tsx';
import { readStylus, textOf, type StylusErrors, type StylusText } from './stylus-form.ts';

export function StylusDialog({ stylus }: { readonly stylus: Stylus | null }) {
  const { host, attempt, open, go, refresh, store } = useModel();
  const unit = useDaybook((state) => state.settings.unit);
  // People pay in one money: a new stylus starts with that of the last one.
  const currency = useDaybook((state) =>
    state.cards?.findLast(({ stylus: one }) => one.currency !== '' && !one.demo),
  )?.stylus.currency;
  const [text, setText] = useState(() => ({
    ...textOf(stylus, unit),
    ...(stylus === null && currency !== undefined ? { currency } : {}),
  }));
  const [errors, setErrors] = useState<StylusErrors>({});
  const change = (part: Partial<StylusText>): void => setText((old) => ({ ...old, ...part }));
  const save = async (): Promise<void> => {
    const read = readStylus(text, unit);
    const { draft } = read;
    const { page } = store.getState();
    const cutOff =
      stylus === null ||
      draft === null ||
      page?.stylus.id !== stylus.id ||
      draft.startDate === stylus.startDate
        ? null
        : afterPlayed(draft.startDate, ledgerOf(page).firstDay);
    setErrors(cutOff === null ? read.errors : { ...read.errors, startDate: cutOff });
    if (draft === null || cutOff !== null) return;
    const saved = await attempt(() =>
      stylus === null
        ? host.call('stylus.create', draft)
        : host.call('stylus.update', { id: stylus.id, draft }),
    );
    if (saved === null) return;
    open(null);
    if (stylus === null) go({ screen: 'stylus', stylusId: saved.id });
    else await refresh();
  };
  return (
    <FormDialog
      title={stylus === null ? 'New stylus' : 'Edit stylus'}
      onClose={() => open(null)}
      formId="stylus-form"
      onSave={save}
      saveLabel={stylus === null ? 'Start this stylus' : 'Save'}
      note={
        Object.keys(errors).length > 0 && (
          <p className="field-error" role="alert">
            Some fields need a look before this can be saved.
          </p>
        )
      }
    >
      <StylusFields text={text} errors={errors} change={change} symbol={lengthUnit(unit).symbol} />
    </FormDialog>
  );
}

type FieldsProps = {
  readonly text: StylusText;
  readonly errors: StylusErrors;
  readonly change: (part: Partial<StylusText>) => void;
  readonly symbol: string;
};

const SMALLEST_RADIUS_UM = 2;
/** Sellers state mil as often as micrometres: 0.7 typed as µm is no tip that exists. */
function radiusHint(text: string, symbol: string): string | null {
  const value = parseNumber(text);
  if (symbol !== 'µm' || value === null || value <= 0 || value >= SMALLEST_RADIUS_UM) return null;
  return `No tip is that small. If ${text.trim()} mil was meant: that is ${Number((value * UM_PER_MIL).toPrecision(2))}${NBSP}µm.`;
}

function StylusFields({ text, errors, change, symbol }: FieldsProps) {
  return (
    <>
      <TextField
        label="Name"
        wide
        maxLength={200}
        value={text.name}
        error={errors.name}
        onChange={(name) => change({ name })}
      />
      <TextField
        label="Cartridge"
        hint="In your own words"
        maxLength={200}
        value={text.cartridge}
        onChange={(cartridge) => change({ cartridge })}
      />
      <TextField
        label="Deck"
        hint="Where it is mounted"
        maxLength={200}
        value={text.deck}
        onChange={(deck) => change({ deck })}
      />
      <TextField
        label="Profile"
        hint="Round, elliptical, fine line…"
        maxLength={200}
        value={text.profile}
        onChange={(profile) => change({ profile })}
      />
      <NumberField
        label="Tip radius"
        suffix={symbol}
        hint={radiusHint(text.radius, symbol) ?? 'As stated by the seller; empty if unknown'}
        value={text.radius}
        error={errors.radius}
        onChange={(radius) => change({ radius })}
      />
      <NumberField
        label="Side radius"
        suffix={symbol}
        hint="The smaller one of an elliptical tip"
        value={text.sideRadius}
        error={errors.sideRadius}
        onChange={(sideRadius) => change({ sideRadius })}
      />
      <TextField
        label="In use since"
        type="date"
        value={text.startDate}
        error={errors.startDate}
        onChange={(startDate) => change({ startDate })}
      />
      <div className="field">
        <TickField
          label="Its hours before that are known"
          checked={text.historyKnown}
          onChange={(historyKnown) => change({ historyKnown })}
        />
        {text.historyKnown ? (
          <>
            <NumberField
              label="Hours at the start"
              suffix="h"
              hint="0 for a new stylus"
              value={text.startHours}
              error={errors.startHours}
              onChange={(startHours) => change({ startHours })}
            />
            {text.startHours.trim() !== '' && text.startHours.trim() !== '0' && (
              <NumberField
                label="Give or take"
                suffix="h"
                hint="About 95 %; empty if they are exact"
                value={text.startGiveOrTake}
                error={errors.startGiveOrTake}
                onChange={(startGiveOrTake) => change({ startGiveOrTake })}
              />
            )}
          </>
        ) : (
          <p className="hint">
            History unknown: common practice is to fit a new stylus before playing records you care about.
          </p>
        )}
      </div>
      <NumberField
        label="Minutes a side"
        suffix="min"
        hint="Usual on this deck; empty: as in the settings"
        value={text.minutesPerSide}
        error={errors.minutesPerSide}
        onChange={(minutesPerSide) => change({ minutesPerSide })}
      />
      <GrooveFields
        text={text.groove}
        usual="30 cm, 33⅓ (the usual kind)"
        wrong={errors.groove ?? null}
        change={(part) => change({ groove: { ...text.groove, ...part } })}
      />
      <NumberField
        label="Rated hours"
        suffix="h"
        hint="If the maker states a life"
        value={text.ratedHours}
        error={errors.ratedHours}
        onChange={(ratedHours) => change({ ratedHours })}
      />
      <NumberField
        label="Your limit for a flat"
        suffix={symbol}
        hint="Your own; no published limit is known"
        value={text.limit}
        error={errors.limit}
        onChange={(limit) => change({ limit })}
      />
      <NumberField
        label="Price"
        value={text.price}
        error={errors.price}
        onChange={(price) => change({ price })}
      />
      <TextField
        label="Currency"
        maxLength={8}
        value={text.currency}
        onChange={(currency) => change({ currency })}
      />
      <LongField label="Notes" wide value={text.notes} onChange={(notes) => change({ notes })} />
    </>
  );
}
