/**
 * Puts the shell into a page and starts the bridge. The carrier is an
 * argument, so that a fixture can mount the same page without a host.
 */
import { createRoot } from 'react-dom/client';
import type { RendererCarrier } from '../../shared-core/bridge/contract.ts';
import { App } from './app.tsx';
import { startBridge } from './bridge-client.ts';
import { useSettings } from './settings.ts';
import './fonts.css';
import './tokens.css';
import './shell.css';
import '../ui/ui.css';
import '../plots/plots.css';
import '../alarms/alarms.css';
import '../run/run.css';

export function mountApp(root: HTMLElement, connect: () => Promise<RendererCarrier>): void {
  // Before anything is drawn: canvases read their inks from the tokens as they are at that moment.
  const applyTheme = (): void => {
    document.documentElement.dataset.theme = useSettings.getState().theme;
  };
  applyTheme();
  useSettings.subscribe(applyTheme);
  startBridge(connect);
  createRoot(root).render(<App />);
}
