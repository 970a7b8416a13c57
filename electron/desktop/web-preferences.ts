/**
 * How the window's page may run. Everything is written out, defaults too, so
 * that a change of Electron's defaults changes nothing here.
 */
import type { WebPreferences } from 'electron';

export function webPreferences(preloadPath: string): WebPreferences {
  return {
    preload: preloadPath,
    sandbox: true,
    contextIsolation: true,
    nodeIntegration: false,
    nodeIntegrationInWorker: false,
    nodeIntegrationInSubFrames: false,
    webSecurity: true,
    allowRunningInsecureContent: false,
    experimentalFeatures: false,
    webviewTag: false,
    navigateOnDragDrop: false,
    spellcheck: false,
    // Alarms must be drawn and heard while another window is in front.
    backgroundThrottling: false,
  };
}
