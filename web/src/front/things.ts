/** What can be moved on the front, and where each length stands in the design file. */
import type { Cabinet, DriverPlace, PortPlace } from "../picture";
import type { Thing } from "./hold";

export function driver_thing(driver: DriverPlace): Thing {
  const at = ["drivers", driver.name];
  return {
    key: `driver ${driver.name}`,
    axes: [
      { name: "across", path: [...at, "centre", 0], mm: driver.across_mm },
      { name: "up", path: [...at, "centre", 1], mm: driver.up_mm },
    ],
  };
}

export function set_back_thing(driver: DriverPlace): Thing {
  return {
    key: `driver ${driver.name}`,
    axes: [{ name: "set back", path: ["drivers", driver.name, "set back"], mm: driver.set_back_mm }],
  };
}

export function port_thing(port: PortPlace): Thing {
  const at = ["ways", port.way, "enclosure", "vented", "port centre"];
  return {
    key: `port of ${port.way}`,
    axes: [
      { name: "across", path: [...at, 0], mm: port.across_mm },
      { name: "up", path: [...at, 1], mm: port.up_mm },
    ],
  };
}

export function cabinet_thing(cabinet: Cabinet): Thing {
  return {
    key: "cabinet",
    axes: [
      { name: "width", path: ["cabinet", "width"], mm: cabinet.width_mm },
      { name: "height", path: ["cabinet", "height"], mm: cabinet.height_mm },
      { name: "depth", path: ["cabinet", "depth"], mm: cabinet.depth_mm },
      { name: "edge radius", path: ["cabinet", "edge radius"], mm: cabinet.edge_radius_mm },
    ],
  };
}

/** Whether what a finding points at is this driver or port: by its name, by its way, or as one of all. */
export const is_meant = (target: string | null, name: string, way: string): boolean =>
  target === name || target === way || target === "drivers";
