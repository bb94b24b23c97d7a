import { useId, useState } from 'react';
import type { Capture, StylusPage } from '../../shared/index.ts';
import { formatDated } from '../format.ts';

type OtherLightProps = {
  readonly page: StylusPage;
  readonly capture: Capture;
  readonly busy: boolean;
  readonly onOther: (captureId: string) => void;
};

/** Flats stay when the lamp moves, glints do not: held against a second end-on picture under another lamp. */
export function OtherLight({ page, capture, busy, onOther }: OtherLightProps) {
  const id = useId();
  const others = page.captures.filter((one) => one.view === 'end-on' && one.id !== capture.id);
  const [chosen, setChosen] = useState('');
  if (others.length === 0) return null;
  return (
    <details className="panel-part">
      <summary>Flats or glints?</summary>
      <p className="hint" id={`${id}-hint`}>
        Take a second picture without touching the stylus, with the lamp on another side. Patches that move
        with the lamp are reflections, not flats.
      </p>
      <div className="field">
        <label htmlFor={id}>Picture under the other light</label>
        <select
          id={id}
          value={chosen}
          aria-describedby={`${id}-hint`}
          onChange={(event) => setChosen(event.target.value)}
        >
          <option value="">Choose…</option>
          {others.map((one) => (
            <option key={one.id} value={one.id}>{`${formatDated(one.taken)}, ${one.fileName}`}</option>
          ))}
        </select>
      </div>
      <button
        type="button"
        className="button"
        disabled={busy || chosen === ''}
        onClick={() => onOther(chosen)}
      >
        Examine under both lights
      </button>
    </details>
  );
}
