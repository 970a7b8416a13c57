/**
 * What the desktop's preload gives the page, as `window.runstand`, and the
 * words by which the page's port is handed over. Absent in a browser.
 */

export interface DesktopBridge {
  /**
   * Asks for a fresh port to the host. It comes as a window message whose data
   * is `PORT_MESSAGE` and whose first port is it: a port cannot pass through
   * the context bridge itself.
   */
  requestPort(): void;
}

export const BRIDGE_NAME = 'runstand';
export const PORT_MESSAGE = 'runstand:port';
