/** Rig's requests: the rig sheet and its versions, listening to a port, the lines that the bench sends. */
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { Acquisition } from './acquisition.ts';
import type { RequestMessage } from './page.ts';
import type { RigFolder } from './rig-folder.ts';
import { sniffPort } from './serial/sniff.ts';

export type RigRequest = Extract<RequestMessage, { method: `rig.${string}` }>;

/** What the desk needs of the rest of the host. */
export interface RigDeskWorld {
  acquisition(): Acquisition | null;
  /** Nothing runs on the old sheet any more. */
  sheetTakesEffect(): void;
  now_epochMs(): number;
  log(line: string): void;
}

export class RigDesk {
  readonly #rigs: RigFolder;
  readonly #world: RigDeskWorld;
  #isSniffing = false;

  constructor(rigs: RigFolder, world: RigDeskWorld) {
    this.#rigs = rigs;
    this.#world = world;
  }

  async ask(request: RigRequest): Promise<Result<unknown, BridgeError>> {
    const running = this.#world.acquisition();
    switch (request.method) {
      case 'rig.get':
        return ok({ rig: this.#rigs.current, inForce: running?.rig.version ?? null });
      case 'rig.save':
        return this.#save(request.params.sheet, request.params.by, request.params.change);
      case 'rig.versions':
        return ok({ versions: this.#rigs.versions() });
      case 'rig.version':
        return this.#rigs.version(request.params.version);
      case 'rig.sniff':
        return this.#sniff(request.params);
      case 'rig.lines':
        return ok(running?.heardLines(request.params.since) ?? { lines: [], next: 0 });
    }
  }

  #save(sheet: unknown, by: string, change: string): Result<{ version: number; sentence: string }, BridgeError> {
    const saved = this.#rigs.save(sheet, by, change, this.#world.now_epochMs());
    if (!saved.ok) return saved;
    const { version } = saved.value;
    this.#world.log(`rig sheet saved as version ${version} by ${by}: ${change}`);
    const running = this.#world.acquisition();
    if (running === null) this.#world.sheetTakesEffect();
    return ok({
      version,
      sentence:
        running === null
          ? `Saved as version ${version}. It is in force from the next session.`
          : `Saved as version ${version}. The running session keeps version ${running.rig.version}; the new one takes effect at the next session: disconnect and connect again.`,
    });
  }

  async #sniff(params: { path: string; baud: number; seconds: number }) {
    const source = this.#world.acquisition()?.source;
    if (source?.kind === 'port' && source.name === params.path) {
      return err({
        kind: 'busy',
        sentence: `${params.path} is the port in use.`,
        remedy: 'Disconnect it first, then listen.',
      });
    }
    if (this.#isSniffing) {
      return err({
        kind: 'busy',
        sentence: 'A port is being listened to already.',
        remedy: 'Wait until that is done.',
      });
    }
    this.#isSniffing = true;
    try {
      return await sniffPort(params);
    } finally {
      this.#isSniffing = false;
    }
  }
}
