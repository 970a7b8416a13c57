import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { type LibraryPort, listPorts, type PortSystem } from '../../../electron/host/serial/ports.ts';

const ports = (list: LibraryPort[]) => async () => list;
const nothing: PortSystem = { platform: 'linux', list: ports([]), names: () => [], text: () => null, real: () => null };

describe('given Linux', () => {
  const links: Record<string, string> = {
    '/sys/class/tty/ttyUSB10/device': '/sys/devices/usb1/1-2/1-2:1.0/ttyUSB10',
    '/sys/class/tty/ttyUSB2/device': '/sys/devices/usb1/1-1/1-1:1.0/ttyUSB2',
    '/sys/class/tty/ttyS0/device': '/sys/devices/pnp0/00:01',
    '/sys/class/tty/ttyS1/device': '/sys/devices/platform/serial8250',
    '/dev/serial/by-id/usb-Maker_Bench_A1-if00-port0': '/dev/ttyUSB10',
  };
  const texts: Record<string, string> = {
    '/sys/devices/usb1/1-2/idVendor': '0403',
    '/sys/devices/usb1/1-2/product': 'Bench',
    '/sys/devices/usb1/1-2/manufacturer': 'Maker',
    '/sys/devices/usb1/1-2/serial': 'A1',
    '/sys/devices/usb1/1-1/idVendor': '1a86',
    '/sys/class/tty/ttyS0/type': '4',
    '/sys/class/tty/ttyS1/type': '0',
  };
  const folders: Record<string, string[]> = {
    '/sys/class/tty': ['console', 'tty0', 'ttyS0', 'ttyS1', 'ttyUSB10', 'ttyUSB2', 'ptmx'],
    '/dev/serial/by-id': ['usb-Maker_Bench_A1-if00-port0', 'usb-stale'],
  };
  const linux: PortSystem = {
    platform: 'linux',
    list: () => {
      throw new Error('not to be asked');
    },
    names: (folder) => folders[folder] ?? [],
    text: (file) => texts[file] ?? null,
    real: (path) => links[path] ?? null,
  };

  test('when listed, then ports that are there come, USB first, by their lasting names, without asking a helper', async () => {
    expect(await listPorts(linux)).toEqual({
      ports: [
        { path: '/dev/ttyUSB2', description: 'USB serial' },
        {
          path: '/dev/serial/by-id/usb-Maker_Bench_A1-if00-port0',
          description: 'Bench, Maker, A1, now /dev/ttyUSB10',
        },
        { path: '/dev/ttyS0', description: 'serial port' },
      ],
      note: '',
    });
  });

  test('when there is no port, then the note says what to do', async () => {
    const bare = { ...linux, names: (folder: string) => (folder === '/sys/class/tty' ? ['console'] : []) };
    expect(await listPorts(bare)).toEqual({ ports: [], note: expect.stringContaining('Plug the bench in') });
  });

  test('when there is neither kernel list nor helper, then nothing throws and the note says to type the path', async () => {
    const list = () => {
      throw new TypeError("Cannot read properties of undefined (reading 'pipe')");
    };
    expect(await listPorts({ ...nothing, list })).toEqual({
      ports: [],
      note: expect.stringContaining('Type the path'),
    });
    const rejecting = async () => Promise.reject(new Error('spawn udevadm ENOENT'));
    expect((await listPorts({ ...nothing, list: rejecting })).note).toContain('spawn udevadm ENOENT');
  });

  test.skipIf(process.platform !== 'linux')(
    'when the real machine has no helper program on its path, then listing still ends well',
    () => {
      const module = fileURLToPath(new URL('../../../electron/host/serial/ports.ts', import.meta.url));
      const script = `import(${JSON.stringify(module)}).then((m) => m.listPorts()).then((l) => console.log(JSON.stringify(l)))`;
      const printed = execFileSync(process.execPath, ['-e', script], { env: { PATH: '/nowhere' }, encoding: 'utf8' });
      expect(JSON.parse(printed)).toEqual({ ports: expect.any(Array), note: expect.any(String) });
    },
  );
});

describe('given macOS', () => {
  test('when a tty.* port is listed, then its cu.* name comes before it', async () => {
    const list = ports([
      { path: '/dev/tty.usbserial-A1', manufacturer: 'Maker', serialNumber: 'A1' },
      { path: '/dev/tty.Bluetooth' },
    ]);
    expect((await listPorts({ ...nothing, platform: 'darwin', list })).ports).toEqual([
      { path: '/dev/cu.usbserial-A1', description: 'USB serial, Maker, A1' },
      { path: '/dev/tty.usbserial-A1', description: 'USB serial, Maker, A1' },
      { path: '/dev/cu.Bluetooth', description: 'serial port' },
      { path: '/dev/tty.Bluetooth', description: 'serial port' },
    ]);
  });
});

describe('given Windows', () => {
  test('when listed, then the friendly name is the description', async () => {
    const list = ports([
      { path: 'COM3', friendlyName: 'USB Serial Device (COM3)', manufacturer: 'Maker', serialNumber: '' },
    ]);
    expect((await listPorts({ ...nothing, platform: 'win32', list })).ports).toEqual([
      { path: 'COM3', description: 'USB Serial Device (COM3), Maker' },
    ]);
  });
});
