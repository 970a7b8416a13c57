/**
 * The browser door as a program: prints its address, serves until told to
 * stop. Builds nothing and opens nothing; `npm start` does that.
 */
import { type LaunchOptions, parseLaunchOptions, usage } from '../launch/launch-options.ts';
import { serve } from './serve.ts';

/**
 * Serves until SIGINT, SIGTERM or SIGHUP, then closes and ends the process.
 * @param onAddress called once the door is open
 * @returns an exit code where the door could not be opened; otherwise it does not return
 */
export async function serveUntilStopped(options: LaunchOptions, onAddress: (address: string) => void): Promise<number> {
  const serving = await serve(options, (line) => console.error(line));
  if (!serving.ok) {
    console.error(serving.error);
    return 1;
  }
  let isStopping = false;
  const ended = new Promise<number>((resolve) => {
    const stop = (): void => {
      // Asked twice: the person does not want to wait.
      if (isStopping) process.exit(130);
      isStopping = true;
      serving.value.close().then(
        (isClean) => {
          if (!isClean)
            console.error('The host did not close in time; the last second of the recording may be missing.');
          resolve(isClean ? 0 : 1);
        },
        (error: unknown) => {
          console.error(error);
          resolve(1);
        },
      );
    };
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, stop);
  });
  // Said only now: who reads the address may stop us at once, and that must be a clean end.
  onAddress(serving.value.door.address);
  return ended;
}

export function addressLine(address: string): string {
  return `Runstand is at ${address}`;
}

if (import.meta.main) {
  const options = parseLaunchOptions(process.argv.slice(2));
  if (!options.ok) {
    console.error(options.error);
    process.exit(2);
  }
  if (options.value.help) {
    console.log(usage);
    process.exit(0);
  }
  process.exit(await serveUntilStopped(options.value, (address) => console.log(addressLine(address))));
}
