/**
 * Writes the published JSON schema of the rig sheet anew, after its zod schema
 * was changed: `node build/rig-schema.ts`. tests/rig/json-schema.test.ts fails
 * until that is done.
 */
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { rigSheetJsonSchema } from '../shared-core/rig/rig-schema.ts';

const path = 'shared-core/rig/rig-sheet.schema.json';
writeFileSync(path, `${JSON.stringify(rigSheetJsonSchema(), null, 2)}\n`);
execFileSync('npx', ['biome', 'format', '--write', path], { stdio: 'inherit' });
