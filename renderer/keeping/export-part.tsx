import { useRef, useState } from 'react';
import { save } from '../save.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { ChoiceField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { formatBytes } from './words.ts';

/** Out of the daybook and into it: everything for other programs, one stylus for another daybook. */
export function ExportPart() {
  const { host, run, say } = useModel();
  const everything = async (): Promise<void> => {
    const made = await run('Exporting everything', (jobId) => host.call('keeping.export', { jobId }));
    if (made === null) return;
    const left = made.left.length === 0 ? '' : ` ${made.left.length} damaged pictures are not in it.`;
    say(
      `Exported ${made.pictures} pictures and all tables, ${formatBytes(made.byteLength)}: ${made.path}.${left}`,
    );
  };
  return (
    <section aria-labelledby="keeping-export">
      <h2 id="keeping-export">For other programs and other people</h2>
      <p className="hint">
        Everything as CSV and JSON tables with the pictures, in one ZIP file beside the backups. The pictures
        are copies without metadata: no place, no serial number. This is no backup.
      </p>
      <button type="button" className="button" onClick={() => void everything()}>
        Export everything
      </button>
      <OneStylus />
    </section>
  );
}

function OneStylus() {
  const { host, run, say, go } = useModel();
  const cards = useDaybook((state) => state.cards) ?? [];
  const [chosen, setChosen] = useState('');
  const input = useRef<HTMLInputElement>(null);
  const id = cards.some(({ stylus }) => stylus.id === chosen) ? chosen : (cards[0]?.stylus.id ?? '');
  const give = async (): Promise<void> => {
    const made = await run('Exporting a stylus', (jobId) => host.call('stylus.export', { id, jobId }));
    if (made === null) return;
    save(new Blob([made.bytes], { type: 'application/zip' }), made.fileName);
    say(`Saved as ${made.fileName}. It holds the originals with all their metadata.`);
  };
  const take = async (file: File | undefined): Promise<void> => {
    if (file === undefined) return;
    const bytes = new Uint8Array(await file.arrayBuffer());
    const came = await run('Importing a stylus', (jobId) => host.call('stylus.import', { bytes, jobId }));
    if (came === null) return;
    say(
      came.again
        ? `“${came.name}” was here already and came in as a second one.`
        : `“${came.name}” came in with everything on it.`,
    );
    go({ screen: 'stylus', stylusId: came.stylusId });
  };
  return (
    <div className="form keeping-path">
      {cards.length > 0 && (
        <>
          <ChoiceField
            label="One stylus, for another daybook"
            value={id}
            choices={cards.map(({ stylus }) => ({ value: stylus.id, label: stylus.name }))}
            onChange={setChosen}
          />
          <button type="button" className="button" onClick={() => void give()}>
            Export this stylus
          </button>
        </>
      )}
      <input
        ref={input}
        type="file"
        accept=".zip,application/zip"
        className="visually-hidden"
        aria-label="Archive of a stylus"
        tabIndex={-1}
        onChange={(event) => {
          void take(event.target.files?.[0]);
          event.target.value = '';
        }}
      />
      <button type="button" className="button" onClick={() => input.current?.click()}>
        <Icon name="plus" />
        Import a stylus
      </button>
    </div>
  );
}
