// Bundles the page into ../page, which Go embeds. The same sources give the same
// bytes: CI builds again and compares.
import { build } from 'esbuild'
import { copyFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs'

const out = '../page'
const made = await build({
  entryPoints: { page: 'src/main.tsx', reader: 'src/scan/reader.ts' },
  bundle: true,
  minify: true,
  format: 'esm',
  target: ['chrome115', 'firefox115', 'safari16.4'],
  jsx: 'automatic',
  jsxImportSource: 'preact',
  legalComments: 'eof',
  outdir: out,
  write: false,
  logLevel: 'info',
})
for (const name of readdirSync(out)) {
  if (/\.(js|css|wasm)$/.test(name)) rmSync(`${out}/${name}`)
}
for (const file of made.outputFiles) writeFileSync(file.path, file.contents)
copyFileSync('node_modules/zxing-wasm/dist/reader/zxing_reader.wasm', `${out}/reader.wasm`)
