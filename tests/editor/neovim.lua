-- A real editor: neovim 0.7 or later, without a window.
-- TESTLAMP=target/debug/testlamp nvim --headless -u NONE -c 'luafile tests/editor/neovim.lua'

local program = vim.env.TESTLAMP or 'target/debug/testlamp'
local patience = 20000
local ended

local function check(holds, words)
  if not holds then
    io.stderr:write('neovim: ' .. words .. '\n')
    vim.cmd('cquit 1')
  end
end

local function wait(what, holds)
  check(vim.wait(patience, holds, 10), 'waited in vain for ' .. what)
end

local client = vim.lsp.start_client({
  cmd = { program, 'language-server' },
  root_dir = vim.fn.getcwd(),
  on_exit = function(code) ended = code end,
})
check(client, 'the server does not start')

local function open(path)
  vim.cmd('edit ' .. path)
  local buffer = vim.api.nvim_get_current_buf()
  check(vim.lsp.buf_attach_client(buffer, client), 'the server is not attached')
  return buffer
end

local function found(buffer, code)
  for _, told in ipairs(vim.diagnostic.get(buffer)) do
    if told.code == code or (told.user_data and told.user_data.lsp and told.user_data.lsp.code == code) then
      return told
    end
  end
end

local function words_at(buffer, told)
  return vim.api.nvim_buf_get_text(buffer, told.lnum, told.col, told.end_lnum, told.end_col, {})[1]
end

local function ask(buffer, method, params)
  local answers, problem = vim.lsp.buf_request_sync(buffer, method, params, patience)
  check(not problem, method .. ': ' .. tostring(problem))
  local answer = answers[client]
  check(answer and not answer.error, method .. ': ' .. vim.inspect(answer))
  return answer.result
end

local function go_to(words)
  check(vim.fn.search('\\V' .. words, 'w') > 0, words .. ' is not in the text')
end

-- Findings are pushed, at the right words.
local buffer = open('examples/jobs/j-2046-fuse-above-wire.yaml')
wait('the first findings', function() return found(buffer, 'FUSE-01') end)
local fuse = found(buffer, 'FUSE-01')
check(words_at(buffer, fuse) == '80 A', 'FUSE-01 stands at ' .. words_at(buffer, fuse))
check(fuse.severity == vim.diagnostic.severity.ERROR, 'FUSE-01 is no error')

-- A code action is made and the plan judged again.
local far = open('examples/jobs/j-2047-fuse-far-firewall-open.yaml')
wait('the findings of a far fuse', function() return found(far, 'FUSE-02') end)
go_to('65 cm')
local params = vim.lsp.util.make_range_params()
params.context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics(far) }
local chosen
for _, action in ipairs(ask(far, 'textDocument/codeAction', params)) do
  if action.title:find('45 cm', 1, true) then chosen = action end
end
check(chosen, 'no nearer fuse is offered')
vim.lsp.util.apply_workspace_edit(chosen.edit, 'utf-16')
wait('the finding to go', function() return not found(far, 'FUSE-02') end)
go_to('45 cm')

-- Hovering shows the working.
local hover = ask(far, 'textDocument/hover', vim.lsp.util.make_position_params())
check(hover.contents.value:find('distance along the wire = 45 cm', 1, true), 'hover says ' .. hover.contents.value)
vim.api.nvim_set_current_buf(buffer)

-- A name is changed everywhere.
local before = table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), '\n')
go_to('bass-amp')
local rename = vim.lsp.util.make_position_params()
rename.newName = 'low'
vim.lsp.util.apply_workspace_edit(ask(buffer, 'textDocument/rename', rename), 'utf-16')
local after = table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), '\n')
check(after == before:gsub('bass%-amp', 'low'), 'the name is not changed everywhere')
wait('the plan to be judged again', function()
  local told = found(buffer, 'WIRE-02')
  return told and told.message:find('on the way to `low`', 1, true)
end)

-- What is typed is completed, and columns are right behind an emoji.
vim.cmd('enew!')
vim.cmd('file emoji.yaml')
local typed = vim.api.nvim_get_current_buf()
vim.api.nvim_buf_set_lines(typed, 0, -1, false, {
  'plan: 1', 'amplifiers: {amp: {}}', 'grounds:', "  floor: {note: '🚗🔧', surface: painted, on: body-sheet}", '',
})
check(vim.lsp.buf_attach_client(typed, client), 'the second text is not attached')
wait('the findings of the second text', function() return found(typed, 'GROUND-01') end)
check(words_at(typed, found(typed, 'GROUND-01')) == 'painted', 'GROUND-01 stands at ' .. words_at(typed, found(typed, 'GROUND-01')))
vim.api.nvim_buf_set_lines(typed, 4, 5, false, { 'wir' })
vim.api.nvim_win_set_cursor(0, { 5, 3 })
local offers = ask(typed, 'textDocument/completion', vim.lsp.util.make_position_params())
local offered = {}
for _, item in ipairs(offers.items) do offered[item.label] = true end
check(offered.wires, 'wires is not offered')

-- What is typed into the house file counts for the plans before it is saved, and a slip in it is told.
vim.cmd('enew!')
local folder = vim.fn.tempname()
vim.fn.mkdir(folder .. '/jobs', 'p')
vim.fn.writefile(vim.fn.readfile('examples/jobs/j-2046-fuse-above-wire.yaml'), folder .. '/jobs/a.yaml')
vim.fn.writefile({ 'house: 1', 'limits:', '' }, folder .. '/house.yaml')
local plan = open(folder .. '/jobs/a.yaml')
wait('the findings of the plan', function() return found(plan, 'WIRE-02') end)
local house = open(folder .. '/house.yaml')
vim.api.nvim_buf_set_lines(house, 1, 3, false, { 'rules: {WIRE-02: {off: true, reason: asked}}' })
wait('the plan to be judged by the changed house', function() return found(plan, 'FUSE-01') and not found(plan, 'WIRE-02') end)
vim.api.nvim_buf_set_lines(house, 1, 2, false, { 'rules: {FUSE-01: {off: true, reason: asked}}' })
wait('the slip in the house', function() return found(house, 'unreadable') end)
check(words_at(house, found(house, 'unreadable')) == 'true', 'the slip stands at ' .. words_at(house, found(house, 'unreadable')))
wait('the plan to tell of its house', function() return found(plan, 'house') end)
vim.api.nvim_buf_set_lines(house, 1, 2, false, { 'limits:', '  fix' })
vim.api.nvim_win_set_cursor(0, { 3, 5 })
local limits = {}
for _, item in ipairs(ask(house, 'textDocument/completion', vim.lsp.util.make_position_params()).items) do
  limits[item.label] = true
end
check(limits['fixing-distance'], 'fixing-distance is not offered')

-- It ends as it should.
vim.lsp.stop_client(client)
wait('the server to end', function() return ended ~= nil end)
check(ended == 0, 'the server ended with ' .. tostring(ended))
io.stdout:write('neovim: all is well\n')
vim.cmd('qall!')
