import { createConnection, ProposedFeatures } from "vscode-languageserver/node";
import { nodeHost } from "../cli/node-host.js";
import { serve } from "./server.js";

// Started as `node server.js --stdio` by any editor; the transport is read from the arguments.
const connection = createConnection(ProposedFeatures.all);
serve(connection, nodeHost);
