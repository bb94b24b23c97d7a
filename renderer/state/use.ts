import { createContext, useContext } from 'react';
import { useStore } from 'zustand';
import type { Daybook, DaybookModel } from './model.ts';

const Model = createContext<DaybookModel | null>(null);
export const ModelProvider = Model.Provider;

/** The window's model: state, host and everything that may be done. */
export function useModel(): DaybookModel {
  const model = useContext(Model);
  if (model === null) throw new Error('useModel: there is no ModelProvider above this component');
  return model;
}

export function useDaybook<T>(select: (state: Daybook) => T): T {
  return useStore(useModel().store, select);
}
