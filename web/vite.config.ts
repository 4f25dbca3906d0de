import { defineConfig, type Plugin } from "vite";

/** What is fetched late is fetched plainly: a late part brings its own style sheet, and the usual helper weighs 2 kB. */
const plainly: Plugin = {
  name: "plain-late-imports",
  enforce: "pre",
  load: { filter: { id: /preload-helper/ }, handler: () => "export const __vitePreload = (load) => load();" },
};

// Fixed names: the bundle is committed, and a fresh build must equal it byte for byte.
export default defineConfig({
  base: "/static/",
  plugins: [plainly],
  build: {
    outDir: "../src/forehear/app/static",
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: false,
    rolldownOptions: {
      input: { desk: "index.html", blind: "blind.html", listen: "src/listen/Listen.tsx" },
      preserveEntrySignatures: "exports-only",
      output: {
        minifyInternalExports: false, // tests play with the player by its name
        entryFileNames: "[name].js",
        chunkFileNames: "[name].js",
        assetFileNames: "[name][extname]",
      },
    },
  },
  server: { port: 5173, strictPort: true },
});
