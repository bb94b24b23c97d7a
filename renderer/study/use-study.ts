import { useEffect, useState } from 'react';
import type { StudyList, StudyPage } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import { useModel } from '../state/use.ts';

export type Loaded<T> = { readonly value: T | null; readonly problem: string | null };

/** What the host answers to a question without side effects, renewed whenever the collection changes. */
function useAnswer<T>(key: string, ask: () => Promise<T | null>): Loaded<T> {
  const { host } = useModel();
  const [loaded, setLoaded] = useState<Loaded<T> & { readonly key: string }>({
    key,
    value: null,
    problem: null,
  });
  useEffect(() => {
    let there = true;
    const load = (): void => {
      ask().then(
        (value) => there && setLoaded({ key, value, problem: null }),
        (error: unknown) => there && setLoaded({ key, value: null, problem: asRefusal(error).message }),
      );
    };
    load();
    const off = host.on('changed', load);
    return () => {
      there = false;
      off();
    };
    // The question is the key; the function is made anew at every drawing.
    // oxlint-disable-next-line react-hooks/exhaustive-deps
  }, [host, key]);
  return loaded.key === key ? loaded : { value: null, problem: null };
}

export function useStudies(): Loaded<StudyList> {
  const { host } = useModel();
  return useAnswer('studies', () => host.call('study.list', {}));
}

/** Null asks nothing and is answered by nothing. */
export function useStudy(id: string | null): Loaded<StudyPage> {
  const { host } = useModel();
  return useAnswer(`study ${id ?? ''}`, async () => (id === null ? null : host.call('study.page', { id })));
}
