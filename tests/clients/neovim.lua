-- Plays a person in Neovim 0.7 or newer, headless: opens the demo, reads what the server says, edits, hovers, renames, fixes.
-- Usage: SERVER=…/server.js FILE=…/lever.nc nvim --headless --clean -n -i NONE -u NONE -c 'luafile neovim.lua'
-- Prints "ok NAME" or "not ok NAME: why" for each check; the last line is "N passed, N failed".
local server, file = os.getenv('SERVER'), os.getenv('FILE')
local passed, failed = 0, 0

local function say(text) io.stdout:write(text .. '\n') end

local function check(name, test)
  local ok, why = pcall(test)
  if ok then
    passed = passed + 1
    say('ok ' .. name)
  else
    failed = failed + 1
    say('not ok ' .. name .. ': ' .. tostring(why))
  end
end

local function wait(what, test) assert(vim.wait(20000, test, 20), 'waited in vain for ' .. what) end

vim.cmd('edit ' .. vim.fn.fnameescape(file))
vim.bo.filetype = 'iso6983'
local buffer = vim.api.nvim_get_current_buf()

local function line_of(text, from)
  for i, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
    if i > (from or 0) and line:find(text, 1, true) then return i - 1 end
  end
  error('no line with ' .. text)
end

local exited
local id = vim.lsp.start_client({
  name = 'jawline',
  cmd = { 'node', server, '--stdio' },
  root_dir = vim.fn.fnamemodify(file, ':h:h:h'),
  get_language_id = function() return 'iso6983' end,
  on_exit = function(code) exited = code end,
})
assert(id, 'the server did not start')
vim.lsp.buf_attach_client(buffer, id)

local function ask(method, params)
  params = vim.tbl_extend('force', { textDocument = vim.lsp.util.make_text_document_params(buffer) }, params or {})
  local answers = vim.lsp.buf_request_sync(buffer, method, params, 20000)
  local answer = answers and answers[id]
  assert(answer, 'no answer to ' .. method)
  assert(not answer.err, answer.err and answer.err.message)
  return answer.result
end

local function codes()
  local out = {}
  for _, d in ipairs(vim.diagnostic.get(buffer)) do out[d.code or (d.user_data and d.user_data.lsp and d.user_data.lsp.code) or '?'] = d end
  return out
end

local function at(text, character) return { position = { line = line_of(text), character = character } } end

check('starts and says what it can do', function()
  wait('the server', function() local c = vim.lsp.get_client_by_id(id); return c and c.initialized end)
  local can = vim.lsp.get_client_by_id(id).server_capabilities
  for _, name in ipairs({ 'hoverProvider', 'definitionProvider', 'completionProvider', 'renameProvider', 'codeActionProvider', 'documentSymbolProvider' }) do
    assert(can[name], name .. ' is missing')
  end
end)

check('hover tells the part at an offset', function()
  local hover = ask('textDocument/hover', at('G54.1 P4', 3))
  assert(hover.contents.value:find('A4', 1, true) and hover.contents.value:find('damper lever', 1, true), vim.inspect(hover))
  -- A terminal shows no pictures, so none is sent.
  assert(not hover.contents.value:find('data:', 1, true), 'a picture in a terminal')
end)

check('a wrong offset is marked while it is typed, and unmarked', function()
  local line = line_of('G54.1 P12')
  vim.api.nvim_buf_set_text(buffer, line, 7, line, 9, { '21' })
  wait('the finding', function() return codes()['offset-unmapped'] ~= nil end)
  local found = codes()['offset-unmapped']
  assert(found.lnum == line and found.source == 'jawline', vim.inspect(found))
  local context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics(buffer, line) }
  local range = { start = { line = line, character = 0 }, ['end'] = { line = line, character = 9 } }
  local fix
  for _, action in ipairs(ask('textDocument/codeAction', { range = range, context = context })) do
    if action.title:find('B6', 1, true) then fix = action end
  end
  assert(fix, 'no fix for station B6')
  vim.lsp.util.apply_workspace_edit(fix.edit, 'utf-16')
  assert(vim.api.nvim_buf_get_lines(buffer, line, line + 1, false)[1] == 'G54.1 P12', 'the fix did not take')
  wait('no finding', function() return codes()['offset-unmapped'] == nil end)
end)

check('definition leads from an offset to the sidecar', function()
  local places = ask('textDocument/definition', at('G54.1 P8', 3))
  assert(places[1].uri:find('plate.fixture.json', 1, true), vim.inspect(places))
end)

check('completion offers offsets with their stations', function()
  local items = ask('textDocument/completion', at('G54.1 P4', 1))
  local found
  for _, item in ipairs(items.items or items) do if item.label == 'G54.1 P4' then found = item end end
  assert(found and found.detail:find('A4', 1, true), 'G54.1 P4 is not offered')
end)

check('outline, highlights, references and signature', function()
  assert(#ask('textDocument/documentSymbol') > 5, 'outline')
  assert(#ask('textDocument/documentHighlight', at('G54.1 P4', 3)) == 5, 'highlights')
  local references = ask('textDocument/references', vim.tbl_extend('force', at('M98 P2110', 6), { context = { includeDeclaration = true } }))
  assert(#references >= 7, 'references: ' .. #references)
  assert(ask('textDocument/signatureHelp', at('G98 G83', 14)).signatures[1].label:find('G83', 1, true), 'signature')
end)

check('rename changes a program number and its calls', function()
  local edit = ask('textDocument/rename', vim.tbl_extend('force', at('M98 P2110', 6), { newName = '2111' }))
  vim.lsp.util.apply_workspace_edit(edit, 'utf-16')
  line_of('O2111')
  line_of('M98 P2111')
  assert(not pcall(line_of, 'M98 P2110'), 'a call kept its old number')
end)

check('stops when it is told to', function()
  vim.lsp.stop_client(id)
  wait('the end', function() return exited ~= nil end)
  assert(exited == 0, 'exit status ' .. tostring(exited))
end)

say(passed .. ' passed, ' .. failed .. ' failed')
io.stdout:flush()
vim.cmd(failed == 0 and 'qa!' or 'cq!')
