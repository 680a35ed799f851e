// Loads a module of the page into node, types taken off.
import { build } from 'esbuild'

export async function bundled(entry) {
  const { outputFiles } = await build({ entryPoints: [entry], bundle: true, format: 'esm', write: false, logLevel: 'silent', absWorkingDir: new URL('..', import.meta.url).pathname })
  return import(`data:text/javascript;base64,${Buffer.from(outputFiles[0].contents).toString('base64')}`)
}
