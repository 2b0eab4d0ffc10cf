// Lays out one prepared system with elkjs (layered, fixed ports, tee ports free) and prints positions and bend points.
//   NODE_PATH=…/node_modules node elk.mjs < SYSTEM.json > PLACED.json
import { createRequire } from "module";
import fs from "fs";
const require = createRequire(process.cwd() + "/x.js");
const ELK = require("elkjs");
const SIDE = { L: "WEST", R: "EAST", T: "NORTH", B: "SOUTH" };
const system = JSON.parse(fs.readFileSync(0));
const children = system.parts.map((part) => ({
  id: part.id, width: part.w, height: part.h,
  labels: part.label ? [{ text: "x", width: part.label[0], height: part.label[1] }] : [],
  layoutOptions: { "elk.portConstraints": part.tee ? "FREE" : "FIXED_POS", "elk.nodeLabels.placement": "OUTSIDE H_CENTER V_TOP" },
  ports: part.ports.map((port) => ({ id: port.id, x: port.x, y: port.y, width: 0, height: 0, layoutOptions: part.tee ? {} : { "elk.port.side": SIDE[port.side] } })),
}));
const edges = system.pipes.map((pipe) => ({ id: pipe.id, sources: [pipe.back ? pipe.to : pipe.from], targets: [pipe.back ? pipe.from : pipe.to] }));
const graph = { id: "root", children, edges, layoutOptions: {
  "elk.algorithm": "layered", "elk.direction": "RIGHT", "elk.edgeRouting": "ORTHOGONAL", "elk.layered.thoroughness": "100",
  "elk.layered.nodePlacement.strategy": "NETWORK_SIMPLEX", "elk.layered.nodePlacement.favorStraightEdges": "true",
  "elk.layered.unnecessaryBendpoints": "false", "elk.spacing.nodeNode": "24", "elk.spacing.edgeNode": "12", "elk.spacing.edgeEdge": "12",
  "elk.layered.spacing.nodeNodeBetweenLayers": "24", "elk.layered.spacing.edgeNodeBetweenLayers": "12", "elk.layered.spacing.edgeEdgeBetweenLayers": "12" } };
const start = process.hrtime.bigint();
const out = await new ELK().layout(graph);
const seconds = Number(process.hrtime.bigint() - start) / 1e9;
const at = Object.fromEntries(out.children.map((n) => [n.id, [n.x, n.y]]));
const ports = Object.fromEntries(out.children.flatMap((n) => n.ports.map((p) => [p.id, [n.x + p.x, n.y + p.y]])));
const back = Object.fromEntries(system.pipes.map((p) => [p.id, p.back]));
const routes = Object.fromEntries(out.edges.map((e) => {
  const s = e.sections[0];
  const points = [s.startPoint, ...(s.bendPoints || []), s.endPoint].map((q) => [q.x, q.y]);
  return [e.id, back[e.id] ? points.reverse() : points];
}));
console.log(JSON.stringify({ seconds, at, ports, routes }));
