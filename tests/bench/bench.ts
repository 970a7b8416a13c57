/**
 * Runs the benchmarks beside it: `npm run bench -- NAME [arguments]`, or all of
 * them without a name. Each prints its own table; the last line of each is its
 * result as one JSON object.
 */
import { readdirSync } from 'node:fs';

interface Benchmark {
  run(args: string[]): Promise<Record<string, unknown>>;
}

const here = new URL('.', import.meta.url);
/** Files that are no benchmarks themselves. */
const notBenchmarks = new Set(['bench.ts']);

async function main(): Promise<void> {
  const [name, ...args] = process.argv.slice(2);
  const names = readdirSync(here)
    .filter((file) => file.endsWith('.ts') && !file.startsWith('_') && !notBenchmarks.has(file))
    .map((file) => file.slice(0, -'.ts'.length));
  if (name !== undefined && !names.includes(name)) {
    console.error(`No benchmark "${name}". There are: ${names.join(', ')}.`);
    process.exitCode = 2;
    return;
  }
  for (const each of name === undefined ? names : [name]) {
    const benchmark = (await import(new URL(`${each}.ts`, here).href)) as Benchmark;
    const result = await benchmark.run(args);
    console.log(JSON.stringify({ bench: each, ...result, node: process.versions.node }));
  }
}

await main();
