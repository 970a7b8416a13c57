/**
 * What the serial library says when a port cannot be opened, in plain words
 * with a remedy. The library gives no codes, only texts, so these are told
 * apart by text: those of `strerror` on Linux and macOS, its own on Windows
 * (bindings-cpp, `serialport_unix.cpp` and `serialport_win.cpp`).
 */
export type OpenTrouble = 'permission' | 'busy' | 'missing' | 'not-a-port' | 'rate' | 'gone' | 'other';

export interface OpenErrorWords {
  readonly kind: OpenTrouble;
  readonly sentence: string;
  readonly remedy: string;
}

/** First match counts: a text about a rate may also hold a system word. */
const texts: readonly (readonly [RegExp, OpenTrouble])[] = [
  [/inappropriate ioctl|not a typewriter|is a directory|operation not supported on socket/i, 'not-a-port'],
  [/baud rate of|IOSSIOSPEED|termios2|SetCommState/i, 'rate'],
  [/cannot lock port|resource busy|device or resource busy/i, 'busy'],
  [/permission denied|operation not permitted/i, 'permission'],
  [/no such file or directory|file not found|no such device|device not configured|"path" is not/i, 'missing'],
  [
    /input\/output error|invalid handle|bad file descriptor|unknown error code (31|433|1167)\b|operation aborted/i,
    'gone',
  ],
];

/**
 * @param text message of the library's error
 * @param platform `process.platform`
 */
export function openErrorWords(text: string, path: string, baud: number, platform: string): OpenErrorWords {
  const kind = troubleOf(text, platform);
  return { kind, ...wordsFor(kind, text, path, baud, platform) };
}

function troubleOf(text: string, platform: string): OpenTrouble {
  // Windows says the same of a port in use and of a port just unplugged; of rights it hardly ever speaks.
  if (platform === 'win32' && /access denied/i.test(text)) return 'busy';
  return texts.find(([pattern]) => pattern.test(text))?.[1] ?? 'other';
}

function wordsFor(kind: OpenTrouble, text: string, path: string, baud: number, platform: string) {
  switch (kind) {
    case 'permission':
      return {
        sentence: `You may not use ${path}: permission denied.`,
        remedy:
          platform === 'linux'
            ? 'In a terminal: sudo usermod -aG dialout $USER (the group is uucp on some systems), then log out and in again.'
            : 'Allow your account to use the port, or run from an account that may.',
      };
    case 'busy':
      return {
        sentence: `${path} is in use by another program.`,
        remedy:
          platform === 'win32'
            ? 'Close the other program that uses the port (a terminal, a loader, another Runstand). After unplugging, Windows may need some seconds to let go of it.'
            : 'Close the other program that uses the port: a terminal, a loader, another Runstand.',
      };
    case 'missing':
      return {
        sentence: `There is no port ${path}.`,
        remedy: 'Plug the bench in, or choose another port. It is opened as soon as it appears.',
      };
    case 'not-a-port':
      return { sentence: `${path} is not a serial port.`, remedy: 'Choose another port.' };
    case 'rate':
      return {
        sentence: `${path} does not take a rate of ${grouped(baud)} Bd.`,
        remedy: 'Choose a usual rate, such as 115,200 Bd, and set the bench to the same.',
      };
    case 'gone':
      return {
        sentence: `${path} does not answer: its adapter has gone or hangs.`,
        remedy: 'Unplug the adapter, wait some seconds, plug it in again.',
      };
    case 'other':
      return {
        sentence: `${path} cannot be opened: ${text}.`,
        remedy: 'Unplug the adapter and plug it in again; try another USB socket or cable.',
      };
  }
}

/** 115,200 */
export function grouped(baud: number): string {
  return baud.toLocaleString('en-US');
}
