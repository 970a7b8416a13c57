/**
 * The desktop door: Electron's main process. It wires; what is allowed stands
 * in the files beside it, which are tested without Electron. It does no
 * acquisition: that is the host process.
 */
import { join } from 'node:path';
import {
  app,
  BrowserWindow,
  crashReporter,
  dialog,
  ipcMain,
  Menu,
  MessageChannelMain,
  type MessagePortMain,
  powerSaveBlocker,
  protocol,
  session,
  utilityProcess,
} from 'electron';
import { type LaunchOptions, parseLaunchOptions } from '../launch/launch-options.ts';
import { PORT_OFFER, PORT_REQUEST } from '../preload/channels.ts';
import { createHostLink, type HostLink } from './host-link.ts';
import { denyPermissions, guardAllContents, PAGE_ADDRESS, PAGE_SCHEME } from './navigation-policy.ts';
import { answerPageRequest } from './page-protocol.ts';
import { onPageMessage } from './sender-check.ts';
import { createSleepGuard } from './sleep-guard.ts';
import { webPreferences } from './web-preferences.ts';

// Bundled as CommonJS into build/out/desktop, beside host-process.js and preload.cjs.
const bundleFolder = __dirname;
const pageFolder = join(bundleFolder, '..', 'renderer');
const log = (line: string): void => console.error(line);

app.enableSandbox();
crashReporter.start({ uploadToServer: false });
protocol.registerSchemesAsPrivileged([
  { scheme: PAGE_SCHEME, privileges: { standard: true, secure: true, supportFetchAPI: true } },
]);
guardAllContents(app, log);

const options = parseLaunchOptions(ownArguments());
if (!options.ok) {
  log(options.error);
  app.exit(2);
} else if (!app.requestSingleInstanceLock()) {
  // The first window comes forward instead; two hosts on one bench would fight for the port.
  app.quit();
} else {
  void app.whenReady().then(() => run(options.value));
}

function run({ dataFolder, source }: LaunchOptions): void {
  denyPermissions(session.defaultSession);
  protocol.handle(PAGE_SCHEME, (request) => answerPageRequest(pageFolder, request));
  setMenu();
  const link = createHostLink<MessagePortMain>({
    start: { kind: 'start', options: { dataFolder, source } },
    fork: () =>
      utilityProcess.fork(join(bundleFolder, 'host-process.js'), [], {
        serviceName: 'Runstand host',
        stdio: 'inherit',
      }),
    createChannel: () => {
      const { port1, port2 } = new MessageChannelMain();
      return { forHost: port1, forPage: port2 };
    },
    onSession: createSleepGuard(powerSaveBlocker),
    log,
    after: (ms, act) => void setTimeout(act, ms),
    kill: (pid) => process.kill(pid, 'SIGKILL'),
  });
  onPageMessage(ipcMain, PORT_REQUEST, log, (event) =>
    event.sender.postMessage(PORT_OFFER, null, [link.connectPage()]),
  );
  const window = openWindow();
  window.on('minimize', () => link.windowSeen(false));
  window.on('hide', () => link.windowSeen(false));
  window.on('restore', () => link.windowSeen(true));
  window.on('show', () => link.windowSeen(true));
  app.on('second-instance', () => {
    if (window.isMinimized()) window.restore();
    window.focus();
  });
  closeWith(link);
}

function openWindow(): BrowserWindow {
  const window = new BrowserWindow({
    width: 1440,
    height: 900,
    minWidth: 1024,
    minHeight: 700,
    show: false,
    backgroundColor: '#d9dbdc',
    title: 'Runstand',
    webPreferences: webPreferences(join(bundleFolder, 'preload.cjs')),
  });
  window.once('ready-to-show', () => window.show());
  window.webContents.on('render-process-gone', (_event, { reason, exitCode }) => {
    log(`the page's process ended: ${reason}, code ${exitCode}`);
    // Recording goes on in the host; the page comes back and takes it up again.
    if (reason !== 'clean-exit' && !window.isDestroyed()) window.webContents.reload();
  });
  window.on('unresponsive', () => log('the page does not respond; recording goes on'));
  window.on('responsive', () => log('the page responds again'));
  void window.loadURL(PAGE_ADDRESS);
  return window;
}

/** The window may go at once; the process stays until the host has written and closed. */
function closeWith(link: HostLink<MessagePortMain>): void {
  app.on('child-process-gone', (_event, { type, reason, exitCode, name }) =>
    log(`a process ended: ${name ?? type}, ${reason}, code ${exitCode}`),
  );
  app.on('window-all-closed', () => app.quit());
  let isClosed = false;
  app.on('before-quit', (event) => {
    if (isClosed) return;
    event.preventDefault();
    link.close().then(
      () => {
        isClosed = true;
        app.quit();
      },
      (error: unknown) => {
        dialog.showErrorBox('Runstand', `The host could not be closed: ${String(error)}`);
        app.exit(1);
      },
    );
  });
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => app.quit());
}

function setMenu(): void {
  Menu.setApplicationMenu(
    Menu.buildFromTemplate([
      ...(process.platform === 'darwin' ? [{ role: 'appMenu' as const }] : []),
      { role: 'editMenu' },
      {
        label: 'View',
        submenu: [
          { role: 'reload' },
          { type: 'separator' },
          { role: 'resetZoom' },
          { role: 'zoomIn' },
          { role: 'zoomOut' },
          { role: 'togglefullscreen' },
        ],
      },
      { role: 'windowMenu' },
    ]),
  );
}

/** `npm start` passes the app's folder and then its own arguments behind `--`; a packaged app has no folder. */
function ownArguments(): string[] {
  const args = process.argv.slice(app.isPackaged ? 1 : 2);
  return args[0] === '--' ? args.slice(1) : args;
}
