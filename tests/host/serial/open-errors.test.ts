import { describe, expect, test } from 'vitest';
import { openErrorWords } from '../../../electron/host/serial/open-errors.ts';

// Texts as seen on Linux with serialport 13, and as the format strings and
// strerror texts of bindings-cpp 13 make them (serialport_unix.cpp, serialport_win.cpp).
test.each([
  ['linux', 'Error: Permission denied, cannot open /dev/ttyUSB0', 'permission'],
  ['linux', 'Error: Operation not permitted, cannot open /dev/ttyUSB0', 'permission'],
  ['linux', 'Error Resource temporarily unavailable Cannot lock port', 'busy'],
  ['linux', 'Error: Device or resource busy, cannot open /dev/ttyUSB0', 'busy'],
  ['linux', 'Error: No such file or directory, cannot open /dev/ttyUSB0', 'missing'],
  ['linux', 'Error: No such device or address, cannot open /dev/ttyS4', 'missing'],
  ['linux', 'Error: No such device, cannot open /dev/ttyUSB0', 'missing'],
  ['linux', 'Error: Inappropriate ioctl for device setting custom baud rate of 115200', 'not-a-port'],
  ['linux', 'Error: Is a directory, cannot open /tmp', 'not-a-port'],
  ['linux', 'Error baud rate of 123457 is not supported on your platform', 'rate'],
  ['linux', 'Error: Invalid argument || while setting custom baud rate of 123457', 'rate'],
  ['linux', 'Error: Invalid argument || while retrieving termios2 info', 'rate'],
  ['linux', 'Error: Input/output error, cannot open /dev/ttyUSB0', 'gone'],
  ['linux', 'Error: Input/output error setting custom baud rate of 115200', 'rate'],
  ['darwin', 'Error: Permission denied, cannot open /dev/cu.usbserial-1', 'permission'],
  ['darwin', 'Error: Resource busy, cannot open /dev/cu.usbserial-1', 'busy'],
  ['darwin', 'Error Resource temporarily unavailable Cannot lock port', 'busy'],
  ['darwin', 'Error: No such file or directory, cannot open /dev/cu.usbserial-1', 'missing'],
  ['darwin', 'Error: Device not configured, cannot open /dev/cu.usbserial-1', 'missing'],
  ['darwin', 'Error: Inappropriate ioctl for device calling ioctl(.., IOSSIOSPEED, 115200 )', 'not-a-port'],
  ['darwin', 'Error: Invalid argument calling ioctl(.., IOSSIOSPEED, 123457 )', 'rate'],
  ['win32', 'Opening COM3: Access denied', 'busy'],
  ['win32', 'Opening COM9: File not found', 'missing'],
  ['win32', 'Open (SetCommState): The parameter is incorrect', 'rate'],
  ['win32', 'Open (SetCommState): Unknown error code 87', 'rate'],
  ['win32', 'Open (GetCommState): Invalid handle', 'gone'],
  ['win32', 'Opening COM3: Unknown error code 31', 'gone'],
  ['win32', 'Opening COM3: Unknown error code 121', 'other'],
  ['linux', '"path" is not defined: ', 'missing'],
  ['linux', 'something that nobody foresaw', 'other'],
])('given %s saying "%s", then it is %s', (platform, text, kind) => {
  const words = openErrorWords(text, '/dev/ttyX', 115_200, platform);
  expect(words.kind).toBe(kind);
  expect(words.sentence).toContain('/dev/ttyX');
  expect(words.sentence).toMatch(/\.$/);
  expect(words.remedy).toMatch(/\.$/);
});

describe('given the remedies', () => {
  test('when permission is denied on Linux, then the group and the new log-in are named', () => {
    const { remedy } = openErrorWords('Error: Permission denied, cannot open x', '/dev/ttyUSB0', 115_200, 'linux');
    expect(remedy).toContain('sudo usermod -aG dialout $USER');
    expect(remedy).toContain('log out and in again');
  });

  test('when a rate is refused, then the rate is named', () => {
    const words = openErrorWords('Error baud rate of 123457 is not supported', '/dev/ttyUSB0', 123_457, 'linux');
    expect(words.sentence).toContain('123,457 Bd');
  });

  test('when nobody foresaw it, then the system is quoted', () => {
    expect(openErrorWords('odd', 'COM3', 9600, 'win32').sentence).toContain('odd');
  });
});
