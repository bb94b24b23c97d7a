import { useEffect, useState } from 'react';
import type { DueLook, StylusCard } from '../../shared/index.ts';
import { formatDate, today } from '../format.ts';
import { save } from '../save.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Icon } from '../ui/icons.tsx';

/** What is due over all styluses; asked again when the shelf or the hours of common practice change. */
export function useLooks(cards: readonly StylusCard[] | null): readonly DueLook[] | null {
  const { host, attempt } = useModel();
  const [from, to] = useDaybook((state) => state.settings.practiceHours);
  const [looks, setLooks] = useState<readonly DueLook[] | null>(null);
  useEffect(() => {
    if (cards === null) return undefined;
    let wanted = true;
    const ask = async (): Promise<void> => {
      const answer = await attempt(() =>
        host.call('looks.list', { today: today(), practiceHours: [from, to] }),
      );
      if (wanted && answer !== null) setLooks(answer);
    };
    void ask();
    return () => {
      wanted = false;
    };
  }, [host, attempt, cards, from, to]);
  return looks;
}

/** When to look at which stylus, by which rule; and the same for the calendar on the wall or in the telephone. */
export function NextLooks({ looks }: { readonly looks: readonly DueLook[] }) {
  const { host, attempt, say } = useModel();
  const practiceHours = useDaybook((state) => state.settings.practiceHours);
  const keep = async (): Promise<void> => {
    const file = await attempt(() => host.call('looks.calendar', { today: today(), practiceHours }));
    if (file === null) return;
    save(new Blob([file.bytes], { type: 'text/calendar;charset=utf-8' }), file.fileName);
    say('The calendar file holds one day for each stylus. Opened again later, it moves these days along.');
  };
  return (
    <section aria-labelledby="next-looks" className="next-looks">
      <div className="section-head">
        <h2 id="next-looks">The next look</h2>
        <button type="button" className="button" onClick={() => void keep()}>
          <Icon name="flag" />
          Save as a calendar file
        </button>
      </div>
      <table>
        <thead>
          <tr>
            <th scope="col">By</th>
            <th scope="col">Stylus</th>
            <th scope="col">Rule</th>
          </tr>
        </thead>
        <tbody>
          {looks.map(({ stylusId, name, deck, look }) => (
            <tr key={stylusId}>
              <td className="look-date">
                {formatDate(look.date)}
                {look.overdue && <span className="tag tag-overdue">overdue</span>}
              </td>
              <td>
                <a href={writeRoute({ screen: 'stylus', stylusId })}>{name}</a>
                {deck !== '' && <small>{deck}</small>}
              </td>
              <td>
                {look.why}
                <details className="rules">
                  <summary>Every rule</summary>
                  <ul>
                    {look.rules.map(({ rule, date }) => (
                      <li
                        key={rule}
                      >{`${rule} ${date === null ? 'Does not apply now.' : `${formatDate(date)}.`}`}</li>
                    ))}
                  </ul>
                </details>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="hint">
        Common practice, no standard: new, then dated and regular, never more than a year apart. The earliest
        rule holds.
      </p>
    </section>
  );
}
