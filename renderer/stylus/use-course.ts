import { useEffect, useState } from 'react';
import type { StylusPage, WearCourse } from '../../shared/index.ts';
import { today } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';

/** The fitted law and what follows from it; null until the host has answered, or where it cannot. */
export function useCourse(page: StylusPage): WearCourse | null {
  const { host, attempt } = useModel();
  const practiceHours = useDaybook((state) => state.settings.practiceHours);
  const [course, setCourse] = useState<WearCourse | null>(null);
  const [from, to] = practiceHours;
  useEffect(() => {
    let wanted = true;
    const question = {
      stylusId: page.stylus.id,
      today: today(),
      practiceHours: [from, to] as [number, number],
    };
    const ask = async (): Promise<void> => {
      const answer = await attempt(() => host.call('wear.course', question));
      if (wanted && answer !== null) setCourse(answer);
    };
    void ask();
    return () => {
      wanted = false;
    };
  }, [host, attempt, page, from, to]);
  return course;
}
