// Reads a model with web-ifc and prints counts and the distinct corners of every fastener's mesh as JSON (metres, z up).
// node read_again.mjs FOLDER_OF_WEB_IFC MODEL
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";

const [, , folder, file] = process.argv;
const WebIFC = createRequire(import.meta.url)(folder + "/web-ifc-api-node.js");
const api = new WebIFC.IfcAPI();
await api.Init();
const model = api.OpenModel(new Uint8Array(readFileSync(file)), { COORDINATE_TO_ORIGIN: false });
const ids = (type) => Array.from({ length: api.GetLineIDsWithType(model, type).size() }, (_, i) => api.GetLineIDsWithType(model, type).get(i));

const fasteners = {};
const wanted = ids(WebIFC.IFCMECHANICALFASTENER);
api.StreamMeshes(model, wanted, (mesh) => {
  const corners = new Map();
  for (let g = 0; g < mesh.geometries.size(); g++) {
    const placed = mesh.geometries.get(g);
    const m = placed.flatTransformation;
    const geometry = api.GetGeometry(model, placed.geometryExpressID);
    const v = api.GetVertexArray(geometry.GetVertexData(), geometry.GetVertexDataSize());
    for (let i = 0; i < v.length; i += 6) {
      // web-ifc turns z up into y up: (x, y, z) there is (x, z, -y) here
      const p = [0, 1, 2].map((r) => m[r] * v[i] + m[4 + r] * v[i + 1] + m[8 + r] * v[i + 2] + m[12 + r]);
      corners.set(p.map((x) => x.toFixed(6)).join(), [p[0], -p[2], p[1]]);
    }
  }
  const line = api.GetLine(model, mesh.expressID);
  fasteners[line.GlobalId.value] = [...corners.values()];
});
const counts = {
  fasteners: wanted.length,
  sets: ids(WebIFC.IFCPROPERTYSET).length,
  quantities: ids(WebIFC.IFCELEMENTQUANTITY).length,
  aggregates: ids(WebIFC.IFCRELAGGREGATES).length,
};
console.log("@@" + JSON.stringify({ counts, fasteners }));
