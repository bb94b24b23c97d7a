import { it } from 'vitest';

/**
 * A story's steps share a window and build on each other. After a step that failed the rest fails at once and says
 * why, instead of each waiting for something that will not come.
 */
export function newStory(): (name: string, step: () => Promise<void>) => void {
  let broken: string | null = null;
  return (name, step) => {
    // oxlint-disable-next-line vitest/expect-expect, vitest/valid-title -- the steps have names and expectations of their own
    it(name, async () => {
      if (broken !== null) throw new Error(`Not tried: the step "${broken}" failed.`);
      try {
        await step();
      } catch (error) {
        broken = name;
        throw error;
      }
    });
  };
}
