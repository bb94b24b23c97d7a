import { ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { today } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { StylusCardView } from './card.tsx';
import { NextLooks, useLooks } from './next-looks.tsx';

export function Shelf() {
  const cards = useDaybook((state) => state.cards);
  const info = useDaybook((state) => state.info);
  const { open } = useModel();
  const looks = useLooks(cards);
  if (cards === null) return <p className="waiting">Opening the daybook…</p>;
  const inUse = cards.filter((card) => card.stylus.retired === null);
  const retired = cards.filter((card) => card.stylus.retired !== null);
  return (
    <div className="screen">
      <div className="screen-head">
        <ScreenTitle>Shelf</ScreenTitle>
        <div className="actions">
          <button
            type="button"
            className="button"
            onClick={() => open({ kind: 'import', stylusId: null, files: [] })}
          >
            <Icon name="picture" />
            Add pictures
          </button>
          <button
            type="button"
            className="button button-main"
            onClick={() => open({ kind: 'stylus', stylusId: null })}
          >
            <Icon name="plus" />
            New stylus
          </button>
        </div>
      </div>
      {info?.notices.map((notice) => (
        <p className="notice" key={notice}>
          {notice}
        </p>
      ))}
      {info?.demoPresent && <DemoBanner />}
      {cards.length === 0 && <EmptyShelf />}
      <ul className="cards">
        {inUse.map((card) => (
          <StylusCardView
            key={card.stylus.id}
            card={card}
            today={today()}
            look={looks?.find(({ stylusId }) => stylusId === card.stylus.id)?.look ?? null}
          />
        ))}
      </ul>
      {looks !== null && looks.length > 0 && <NextLooks looks={looks} />}
      {retired.length > 0 && (
        <>
          <h2>Retired</h2>
          <ul className="cards">
            {retired.map((card) => (
              <StylusCardView key={card.stylus.id} card={card} today={today()} look={null} />
            ))}
          </ul>
        </>
      )}
    </div>
  );
}

function DemoBanner() {
  const { host, attempt, done, refresh } = useModel();
  const remove = async (): Promise<void> => {
    if ((await attempt(() => host.call('demo.remove', {}))) === null) return;
    await done('The invented demo was removed.');
    await refresh();
  };
  return (
    <section className="demo-banner" aria-label="Demo">
      <span className="tag tag-demo">invented demo</span>
      <p>
        The styluses marked like this are made up: rendered pictures, invented people, makers and hours. They
        are here to try the program on and mix with nothing of yours.
      </p>
      <button type="button" className="button" onClick={() => void remove()}>
        Remove the demo
      </button>
    </section>
  );
}

function EmptyShelf() {
  const { open, host, attempt, refresh } = useModel();
  const addDemo = async (): Promise<void> => {
    await attempt(() => host.call('demo.add', {}));
    await refresh();
  };
  return (
    <section className="empty">
      <h2>No stylus here yet</h2>
      <p>
        Start with the stylus you play most. Give it a name, then add a picture of its tip: the first good one
        becomes the baseline that every later picture is laid over.
      </p>
      <div className="actions">
        <button
          type="button"
          className="button button-main"
          onClick={() => open({ kind: 'stylus', stylusId: null })}
        >
          <Icon name="plus" />
          New stylus
        </button>
        <button type="button" className="button" onClick={() => void addDemo()}>
          Show the invented demo
        </button>
      </div>
    </section>
  );
}
