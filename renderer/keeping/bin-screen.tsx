import { useEffect, useRef, useState } from 'react';
import { binnableSchema } from '../../shared/index.ts';
import type { BinItem, KeepingStatus } from '../../shared/index.ts';
import { useModel } from '../state/use.ts';
import { Crumb, Refused, ScreenTitle } from '../ui/bits.tsx';
import { LiveNumberField, TickField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { useBin, useKeepingStatus } from './use-status.ts';
import { count, formatMoment } from './words.ts';

/** What was put away, with a way back for each; and the one act of the program that destroys something. */
export function BinScreen() {
  const { value: items, wrong, reload } = useBin();
  const status = useKeepingStatus();
  const [asking, setAsking] = useState(false);
  return (
    <div className="screen keeping">
      <Crumb to="#/" name="Shelf" />
      <div className="screen-head">
        <ScreenTitle>Bin</ScreenTitle>
        <div className="actions">
          {items !== null && items.length > 0 && !asking && (
            <button type="button" className="button" onClick={() => setAsking(true)}>
              Empty the bin…
            </button>
          )}
        </div>
      </div>
      {wrong !== null && <Refused sentence={wrong} />}
      {asking && items !== null && <Emptying items={items} onEnd={() => setAsking(false)} reload={reload} />}
      {items?.length === 0 && (
        <section className="empty empty-small">
          <p>The bin is empty. What you put away waits here until you empty it.</p>
        </section>
      )}
      {items !== null && items.length > 0 && (
        <ul className="keeping-list" aria-label="In the bin">
          {items.map((item) => (
            <BinRow key={`${item.called}/${item.id}`} item={item} />
          ))}
        </ul>
      )}
      {status.value !== null && <EmptyingByItself status={status.value} reload={status.reload} />}
    </div>
  );
}

function BinRow({ item }: { readonly item: BinItem }) {
  const { host, attempt, refresh, say } = useModel();
  const takeBack = async (): Promise<void> => {
    const kind = binnableSchema.safeParse(item.kind);
    if (!kind.success) return;
    const done = await attempt(() => host.call('bin.takeBack', { kind: kind.data, id: item.id }));
    if (done === null) return;
    say(`Taken back: ${item.called} “${item.what}”.`);
    await refresh();
  };
  return (
    <li>
      <div>
        <strong>{item.what || item.called}</strong>
        <span className="hint">
          {item.called}
          {item.stylusName !== null && `, ${item.stylusName}`}, put away {formatMoment(item.binnedAt)}
        </span>
      </div>
      {item.kind !== null && (
        <button type="button" className="button" onClick={() => void takeBack()}>
          <Icon name="undo" />
          Take back
          <span className="visually-hidden">{`: ${item.called} ${item.what}`}</span>
        </button>
      )}
    </li>
  );
}

/** Asked, because this cannot be taken back; what will be gone is said before. */
function Emptying(props: {
  readonly items: readonly BinItem[];
  readonly onEnd: () => void;
  readonly reload: () => void;
}) {
  const { items, onEnd, reload } = props;
  const { host, attempt, say } = useModel();
  const keep = useRef<HTMLButtonElement>(null);
  // The harmless way is the one under the hand.
  useEffect(() => keep.current?.focus(), []);
  const styluses = items.filter((item) => item.called === 'stylus').length;
  const empty = async (): Promise<void> => {
    const done = await attempt(() => host.call('bin.empty', {}));
    onEnd();
    if (done === null) return;
    const used =
      done.stillUsed === 0 ? '' : ` ${count(done.stillUsed, 'thing')} that others still use stayed.`;
    say(
      `The bin was emptied: ${count(done.things, 'thing')}, ${count(done.pictures, 'picture file')}.${used}`,
    );
    reload();
  };
  return (
    <section
      className="refused"
      role="alertdialog"
      aria-labelledby="empty-title"
      aria-describedby="empty-what"
    >
      <Icon name="warn" />
      <div>
        <h2 id="empty-title">This cannot be taken back</h2>
        <p id="empty-what">
          {count(items.length, 'thing')} will be destroyed
          {styluses > 0 &&
            `, among them ${count(styluses, 'stylus', 'styluses')} with all pictures, measurements and entries`}
          . Pictures that nothing else shows are deleted from the disk. A backup made before still has them.
        </p>
        <div className="actions">
          <button type="button" className="button" ref={keep} onClick={onEnd}>
            Keep them
          </button>
          <button type="button" className="button" onClick={() => void empty()}>
            Destroy {count(items.length, 'thing')}
          </button>
        </div>
      </div>
    </section>
  );
}

function EmptyingByItself({
  status,
  reload,
}: {
  readonly status: KeepingStatus;
  readonly reload: () => void;
}) {
  const { host, attempt } = useModel();
  const { settings } = status;
  const set = async (emptyBinAfterDays: number | null): Promise<void> => {
    await attempt(() => host.call('keeping.set', { ...settings, emptyBinAfterDays }));
    reload();
  };
  return (
    <section aria-labelledby="bin-by-itself">
      <h2 id="bin-by-itself">Emptying by itself</h2>
      <p className="hint">
        Emptying is the only thing in this program that destroys anything. It never happens unasked unless you
        set it here; then at the start of the program, to what has lain in the bin for longer.
      </p>
      <div className="form">
        <TickField
          label="Destroy what has lain in the bin for long"
          checked={settings.emptyBinAfterDays !== null}
          onChange={(on) => void set(on ? 365 : null)}
        />
        {settings.emptyBinAfterDays !== null && (
          <LiveNumberField
            label="After"
            suffix="days"
            min={1}
            max={3650}
            value={settings.emptyBinAfterDays}
            onChange={(days) => void set(Math.round(days))}
          />
        )}
      </div>
    </section>
  );
}
