import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { App } from './app.tsx';
import { connectHost } from './host.ts';
import { createDaybook } from './state/store.ts';
import { ModelProvider } from './state/use.ts';

const root = document.querySelector('#root');
if (root === null) throw new Error('main: the page has no #root');

const model = createDaybook(connectHost(), {
  storage: localStorage,
  hash: location.hash,
  writeHash: (hash) => history.pushState(null, '', hash),
});
createRoot(root).render(
  <StrictMode>
    <ModelProvider value={model}>
      <App />
    </ModelProvider>
  </StrictMode>,
);
void model.start();
