/**
 * The serial ports of this machine, for the list in Rig. A list is a help and
 * no more: a path can always be typed (pseudo-terminals are in no list).
 */
import { readdirSync, readFileSync, realpathSync } from 'node:fs';
import { basename, dirname } from 'node:path/posix';
import { SerialPort } from 'serialport';
import type { PortInfo } from '../../../shared-core/bridge/contract.ts';

/** What the library tells of a port. */
export interface LibraryPort {
  readonly path: string;
  readonly manufacturer?: string | undefined;
  readonly serialNumber?: string | undefined;
  readonly friendlyName?: string | undefined;
}

/** The parts of the system that are looked at; replaced in tests. */
export interface PortSystem {
  readonly platform: string;
  list(): Promise<readonly LibraryPort[]>;
  /** Names in a folder; empty where there is none. */
  names(folder: string): string[];
  /** Trimmed text of a file; null where there is none. */
  text(file: string): string | null;
  /** Path with all links followed; null where it leads nowhere. */
  real(path: string): string | null;
}

const LIST_LIMIT_MS = 3000;
const TTY_FOLDER = '/sys/class/tty';
const BY_ID_FOLDER = '/dev/serial/by-id';

/** Never rejects: what could not be found out stands in `note`. */
export async function listPorts(system: PortSystem = thisSystem): Promise<{ ports: PortInfo[]; note: string }> {
  // The library would start `udevadm` and fail without it; the kernel's own list needs nobody.
  const kernelNames = system.platform === 'linux' ? system.names(TTY_FOLDER) : [];
  if (kernelNames.length > 0) {
    const ports = linuxPorts(system, kernelNames);
    return { ports, note: noteFor(ports) };
  }
  const listed = await libraryPorts(system);
  const named = system.platform === 'darwin' ? listed.ports.flatMap(bothMacNames) : listed.ports;
  const ports = named.map((port) => ({ path: port.path, description: descriptionOf(port) }));
  const note =
    listed.failure === null ? noteFor(ports) : `Ports could not be listed (${listed.failure}). Type the path.`;
  return { ports, note };
}

function noteFor(ports: readonly PortInfo[]): string {
  return ports.length > 0 ? '' : 'No serial port found. Plug the bench in and look again, or type a path.';
}

/** The library throws, rejects or stays silent where its helper program is missing or hangs. */
async function libraryPorts(system: PortSystem): Promise<{ ports: readonly LibraryPort[]; failure: string | null }> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<never>((_resolve, reject) => {
    timer = setTimeout(() => reject(new Error('no answer')), LIST_LIMIT_MS);
  });
  try {
    // Within an async function, so that a throw becomes a rejection.
    const listing = (async () => system.list())();
    return { ports: await Promise.race([listing, late]), failure: null };
  } catch (error) {
    return { ports: [], failure: error instanceof Error ? error.message : String(error) };
  } finally {
    clearTimeout(timer);
  }
}

/**
 * Where udev has given the adapter a lasting name, that is the path: it stays
 * the same in whatever socket the adapter is plugged next time.
 */
function linuxPorts(system: PortSystem, kernelNames: readonly string[]): PortInfo[] {
  const lasting = new Map<string, string>();
  for (const name of system.names(BY_ID_FOLDER)) {
    const device = system.real(`${BY_ID_FOLDER}/${name}`);
    if (device !== null) lasting.set(device, `${BY_ID_FOLDER}/${name}`);
  }
  const devices = kernelNames.filter((name) => isThere(system, name)).map((name) => `/dev/${name}`);
  return devices.sort(byName).map((device) => {
    const description = descriptionOf({ path: device, ...usbWords(system, basename(device)) });
    const link = lasting.get(device);
    return link === undefined
      ? { path: device, description }
      : { path: link, description: `${description}, now ${device}` };
  });
}

/** Consoles have no device; and the kernel makes ttyS0 to ttyS31 whether there is a port or not: type 0 means not. */
function isThere(system: PortSystem, name: string): boolean {
  if (system.real(`${TTY_FOLDER}/${name}/device`) === null) return false;
  return !name.startsWith('ttyS') || system.text(`${TTY_FOLDER}/${name}/type`) !== '0';
}

/** Maker, product and serial number stand with the USB device, some folders above the port. */
function usbWords(system: PortSystem, name: string): Partial<LibraryPort> {
  let folder = system.real(`${TTY_FOLDER}/${name}/device`);
  for (let up = 0; folder !== null && up < 5 && folder !== '/'; up++) {
    if (system.text(`${folder}/idVendor`) !== null) {
      return {
        friendlyName: system.text(`${folder}/product`) ?? undefined,
        manufacturer: system.text(`${folder}/manufacturer`) ?? undefined,
        serialNumber: system.text(`${folder}/serial`) ?? undefined,
      };
    }
    folder = dirname(folder);
  }
  return {};
}

/** The library lists /dev/tty.*, whose open waits for a carrier; on many adapters bytes come only on /dev/cu.*. */
function bothMacNames(port: LibraryPort): LibraryPort[] {
  if (!port.path.startsWith('/dev/tty.')) return [port];
  return [{ ...port, path: port.path.replace('/dev/tty.', '/dev/cu.') }, port];
}

function descriptionOf(port: LibraryPort): string {
  const isUsb = /USB|ACM|usb/.test(port.path) || port.manufacturer !== undefined || port.serialNumber !== undefined;
  const words = [port.friendlyName ?? (isUsb ? 'USB serial' : 'serial port'), port.manufacturer, port.serialNumber];
  return words.filter((word) => word !== undefined && word !== '').join(', ');
}

/** ttyUSB2 before ttyUSB10, USB before the board's own. */
function byName(a: string, b: string): number {
  const own = Number(/ttyS\d/.test(a)) - Number(/ttyS\d/.test(b));
  return own !== 0 ? own : a.localeCompare(b, 'en', { numeric: true });
}

const thisSystem: PortSystem = {
  platform: process.platform,
  list: () => SerialPort.list(),
  names(folder) {
    try {
      return readdirSync(folder);
    } catch {
      return [];
    }
  },
  text(file) {
    try {
      return readFileSync(file, 'utf8').trim();
    } catch {
      return null;
    }
  },
  real(path) {
    try {
      return realpathSync(path);
    } catch {
      return null;
    }
  },
};
