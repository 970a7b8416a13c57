/** Opens an address in the system's browser. */
import { spawn } from 'node:child_process';

/** The system's own way to open an address. None of them goes through a shell that would read the address. */
export function openCommand(platform: NodeJS.Platform, address: string): { command: string; args: string[] } {
  if (platform === 'win32') return { command: 'rundll32', args: ['url.dll,FileProtocolHandler', address] };
  return { command: platform === 'darwin' ? 'open' : 'xdg-open', args: [address] };
}

/** Does nothing where there is no such command: the address has been printed. */
export function openInBrowser(address: string): void {
  const { command, args } = openCommand(process.platform, address);
  const child = spawn(command, args, { stdio: 'ignore', detached: true });
  child.on('error', () => {});
  child.unref();
}
