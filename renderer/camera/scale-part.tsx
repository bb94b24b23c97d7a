import { ChoiceField, NumberField, TickField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import type { LiveScale } from './use-live-scale.ts';

/** Where the live picture's scale comes from; loud when an earlier one does not belong here. */
export function ScalePart({ scale }: { readonly scale: LiveScale }) {
  const { offers, chosen, choose, untouched, setUntouched, lost, typed, setTyped, error } = scale;
  const offer = offers.find((one) => one.id === chosen);
  return (
    <div className="live-scale">
      {lost !== null && (
        <p className="scale-alarm" role="alert">
          <Icon name="warn" />
          <span>{lost}</span>
        </p>
      )}
      <ChoiceField
        label="Scale"
        hint="It changes with zoom, focus and frame size."
        value={chosen}
        choices={[
          { value: 'none', label: 'Not known; can be given later' },
          ...offers.map(({ id, label }) => ({ value: id, label })),
          { value: 'typed', label: 'Typed in, µm per pixel' },
        ]}
        onChange={choose}
      />
      {offer !== undefined && offer.certain && (
        <p className="hint">Same camera, frame size, zoom and focus: the scale holds.</p>
      )}
      {offer !== undefined && !offer.certain && (
        <>
          <TickField
            label="Zoom and focus were not touched since then"
            checked={untouched}
            onChange={setUntouched}
          />
          {!untouched && (
            <p className="hint" role="status">
              This camera does not report zoom or focus, so only you can know. Without the tick the picture
              has no scale.
            </p>
          )}
        </>
      )}
      {chosen === 'typed' && (
        <NumberField
          label="Micrometres per pixel"
          suffix="µm/px"
          value={typed}
          error={error}
          onChange={setTyped}
        />
      )}
    </div>
  );
}
