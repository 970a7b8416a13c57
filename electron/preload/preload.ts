/**
 * What the sandboxed page gets from the desktop: one named function, and a
 * port when it asks for one. No ipcRenderer, no event, no channel name passes
 * through. Bundled as CommonJS: a sandboxed preload cannot be a module.
 */
import { contextBridge, ipcRenderer } from 'electron';
import { BRIDGE_NAME, type DesktopBridge, PORT_MESSAGE } from '../../shared-core/bridge/desktop-bridge.ts';
import { PORT_OFFER, PORT_REQUEST } from './channels.ts';

const bridge: DesktopBridge = {
  requestPort: () => ipcRenderer.send(PORT_REQUEST),
};

contextBridge.exposeInMainWorld(BRIDGE_NAME, bridge);

// A port cannot pass through the context bridge; a window message hands it to the page, and to no other origin.
ipcRenderer.on(PORT_OFFER, (event) => {
  window.postMessage(PORT_MESSAGE, window.location.origin, [...event.ports]);
});
