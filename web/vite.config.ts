import { defineConfig } from "vite";

// Fixed names: the bundle is committed, and a fresh build must equal it byte for byte.
export default defineConfig({
  base: "/static/",
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
