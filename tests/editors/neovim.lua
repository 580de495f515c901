-- Drives Neovim with the settings of `editors/neovim`: open, findings, hover, remedy, edit, completion, rename, end.
-- The folder that it runs in has `granary.ufh.yaml`; the program is on the path.

local LONG = 60000
local settings = os.getenv('HYPOCAUST_SETTINGS')

local function fail(what)
  io.stderr:write('\n' .. what .. '\n')
  vim.cmd('cquit 1')
end

local function check(holds, what)
  if not holds then fail(what) end
end

local function messages()
  return vim.tbl_map(function(it) return it.message end, vim.diagnostic.get(0))
end

local function wait_for(what, holds)
  if not vim.wait(LONG, holds, 20) then
    fail('in vain: ' .. what .. '; the findings are\n' .. table.concat(messages(), '\n'))
  end
end

local function finding(text)
  for _, it in ipairs(vim.diagnostic.get(0)) do
    if it.message:find(text, 1, true) then return it end
  end
end

-- The line, counted from 1, and its bytes up to a text on it.
local function place(text)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, false)) do
    local at = line:find(text, 1, true)
    if at then return number, at - 1 end
  end
  fail('the text has no ' .. text)
end

local function go_to(text, further)
  local line, column = place(text)
  vim.api.nvim_win_set_cursor(0, { line, column + (further or 0) })
end

local function text()
  return table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n')
end

local function main()
  vim.cmd('luafile ' .. settings)
  vim.cmd('edit granary.ufh.yaml')

  -- Findings. Neovim turns the units that were sent into bytes of the line.
  wait_for('the misspelt key is told', function() return finding('a room has no key `heat-los`') end)
  local misspelt = finding('a room has no key `heat-los`')
  local line, column = place('heat-los:')
  check(misspelt.lnum == line - 1 and misspelt.col == column, 'the finding stands elsewhere: ' .. vim.inspect(misspelt))
  check(misspelt.source == 'hypocaust' and misspelt.severity == vim.diagnostic.severity.WARN, vim.inspect(misspelt))

  -- Hover, by its key.
  go_to('heat-los:', 2)
  vim.api.nvim_feedkeys('K', 'x', false)
  local told
  wait_for('K explains', function()
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.api.nvim_win_get_config(window).relative ~= '' then
        told = table.concat(vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, false), '\n')
        return told:find('Every key must be one of the format', 1, true)
      end
    end
  end)

  -- Remedy, by its key: of what is offered the first is chosen.
  local titles
  vim.ui.select = function(items, options, choose)
    titles = vim.tbl_map(options.format_item or tostring, items)
    choose(items[1], 1)
  end
  go_to('heat-los:', 2)
  vim.api.nvim_feedkeys('gra', 'x', false)
  wait_for('gra puts it right', function() return text():find('heat-loss: 350 W', 1, true) end)
  check(titles[1]:find('write `heat-loss`', 1, true), 'the remedy does not come first: ' .. vim.inspect(titles))
  check(not titles[#titles]:find('record a departure', 1, true), 'a slip is to be accepted: ' .. vim.inspect(titles))
  wait_for('the finding goes', function() return not finding('a room has no key') end)

  -- Edit: 12 m² at 100 mm and 5 m of tails are 125 m; the trade allows a pipe of 16 mm 100 m (common practice, no source).
  go_to('150 mm, tails: 5 m')
  vim.cmd('normal! 3x')
  vim.cmd('normal! i100')
  wait_for('the loop is too long', function()
    return finding('loop L1 is 125.0 m; the longest for a 16 mm pipe is 100.0 m')
  end)

  -- A departure from what is a matter of opinion, last of what is offered; nothing is chosen.
  titles = nil
  vim.ui.select = function(items, options, choose)
    titles = vim.tbl_map(options.format_item or tostring, items)
    choose(nil)
  end
  go_to('L1: {', 1)
  vim.api.nvim_feedkeys('gra', 'x', false)
  wait_for('gra offers something', function() return titles end)
  check(titles[#titles]:find('record a departure', 1, true), 'the departure does not come last: ' .. vim.inspect(titles))

  -- Completion, as the editor asks for it.
  go_to('use: hall')
  vim.cmd('normal! ihe, ')
  go_to('he, use: hall', 2)
  local params = vim.lsp.util.make_position_params(0, 'utf-16')
  local labels = {}
  for _, answer in pairs(vim.lsp.buf_request_sync(0, 'textDocument/completion', params, LONG) or {}) do
    for _, item in ipairs(answer.result and (answer.result.items or answer.result) or {}) do
      labels[#labels + 1] = item.label
    end
  end
  check(vim.tbl_contains(labels, 'height'), 'height is not proposed: ' .. table.concat(labels, ', '))
  go_to('he, use: hall')
  vim.cmd('normal! 4x')

  -- Rename: where the room is and where a loop names it.
  go_to('  hoist:', 3)
  vim.lsp.buf.rename('loading-bay')
  wait_for('the room is renamed', function()
    local now = text()
    return now:find('\n  loading%-bay:\n') and now:find('room: loading-bay,', 1, true) and not now:find('hoist', 1, true)
  end)

  -- The schedule, in a window of its own.
  vim.cmd('FloorSchedule')
  wait_for('the schedule is shown', function() return vim.bo.buftype == 'nofile' and text():find('125.0 m', 1, true) end)
  vim.cmd('close')

  -- The plan, as a drawing for the program that shows drawings.
  local drawing
  vim.ui.open = function(file) drawing = file end
  vim.cmd('FloorPlan')
  wait_for('the plan is drawn', function() return drawing end)
  check(drawing:find('%.svg$') and vim.fn.readfile(drawing)[2]:find('^<svg'), 'no drawing: ' .. drawing)

  -- End: the server goes with the editor's wish.
  local client = vim.lsp.get_active_clients()[1]
  check(client.name == 'hypocaust', 'another server answers')
  client.stop()
  wait_for('the server ends', function() return client.is_stopped() end)
  print('done\n')
  vim.cmd('qall!')
end

local whole, reason = xpcall(main, debug.traceback)
if not whole then fail(reason) end
