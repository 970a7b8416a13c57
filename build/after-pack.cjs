/**
 * Sets all nine fuses of the packaged Electron. electron-builder's own option
 * knows eight of them and not strict mode; here a fuse that a newer Electron
 * adds fails the build until somebody decides about it.
 */
const { existsSync } = require('node:fs');
const { join } = require('node:path');

exports.default = async function setFuses(context) {
  const { flipFuses, FuseV1Options, FuseVersion } = await import('@electron/fuses');
  await flipFuses(executableOf(context), {
    version: FuseVersion.V1,
    strictlyRequireAllFuses: true,
    // Ad-hoc signed macOS builds (arm64) are broken by any change unless signed anew.
    resetAdHocDarwinSignature: context.electronPlatformName === 'darwin',
    [FuseV1Options.RunAsNode]: false,
    [FuseV1Options.EnableCookieEncryption]: true,
    [FuseV1Options.EnableNodeOptionsEnvironmentVariable]: false,
    [FuseV1Options.EnableNodeCliInspectArguments]: false,
    [FuseV1Options.EnableEmbeddedAsarIntegrityValidation]: true,
    [FuseV1Options.OnlyLoadAppFromAsar]: true,
    // The browser process uses the common snapshot; there is no other in the package.
    [FuseV1Options.LoadBrowserProcessSpecificV8Snapshot]: false,
    // The page comes over app://, never file://.
    [FuseV1Options.GrantFileProtocolExtraPrivileges]: false,
    // Costs nothing here, and is Electron's default.
    [FuseV1Options.WasmTrapHandlers]: true,
  });
};

function executableOf(context) {
  const name = context.packager.appInfo.productFilename;
  const candidates = [
    join(context.appOutDir, `${name}.app`),
    join(context.appOutDir, `${name}.exe`),
    join(context.appOutDir, context.packager.executableName ?? name),
    join(context.appOutDir, name),
  ];
  const found = candidates.find((path) => existsSync(path));
  if (found === undefined)
    throw new Error(`no executable in ${context.appOutDir}; looked for ${candidates.join(', ')}`);
  return found;
}
