/** Starts the page: theme, what was saved, the address, then the sheet. */
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import './theme/fonts.ts';
import './theme/tokens.css';
import './theme/base.css';
import './shell/shell.css';
import { startKeys } from './shell/keys.ts';
import { Shell } from './shell/Shell.tsx';
import { followAddress } from './stores/address.ts';
import { restoreDossier } from './stores/dossier.ts';
import { followDossier } from './stores/reading.ts';
import { startTheme } from './theme/theme.ts';

startTheme();
startKeys();
// Canvas draws with whatever face is there: the faces come first, from this very place.
await Promise.all([...document.fonts].map((face) => face.load().catch(() => undefined)));
await restoreDossier();
followAddress();
createRoot(document.getElementById('page') as HTMLElement).render(
  <StrictMode>
    <Shell />
  </StrictMode>,
);
void followDossier();
