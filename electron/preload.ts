import { contextBridge, ipcRenderer } from 'electron';

/** The page gets two functions and nothing of Electron; what they may do is checked on the other side. */
contextBridge.exposeInMainWorld('daybookHost', {
  call: (name: string, input: unknown): Promise<unknown> =>
    ipcRenderer.invoke('daybook:call', name, input) as Promise<unknown>,
  on: (name: string, listener: (event: unknown) => void): (() => void) => {
    const heard = (_event: unknown, which: unknown, event: unknown) => {
      if (which === name) listener(event);
    };
    ipcRenderer.on('daybook:event', heard);
    return () => void ipcRenderer.off('daybook:event', heard);
  },
});
