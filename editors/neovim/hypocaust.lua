-- Starts the hypocaust language server for every design (`*.ufh.yaml`) and for `house-standard.yaml`.
-- `K` explains what is under the cursor, `gra` offers what would put it right.

local server = {
  name = 'hypocaust',
  cmd = { 'hypocaust', 'language-server' },
  -- Figures beside loops, rooms and manifolds; Neovim shows them from 0.10 on.
  settings = { hypocaust = { inlayHints = true } },
}
local client

-- Asks the server to carry out a command about the design in front; what it gives goes on.
local function ask(command, arguments, go_on)
  local params = { command = command, arguments = { vim.uri_from_bufnr(0), unpack(arguments) } }
  vim.lsp.buf_request(0, 'workspace/executeCommand', params, function(failed, answer)
    if failed then return vim.notify(failed.message, vim.log.levels.ERROR) end
    go_on(answer)
  end)
end

-- Shows a text in a window of its own, that is gone once it is closed.
local function show(text)
  vim.cmd('new')
  vim.bo.buftype, vim.bo.bufhidden = 'nofile', 'wipe'
  vim.wo.wrap = false
  vim.api.nvim_buf_set_lines(0, 0, -1, false, vim.split(text, '\n'))
  vim.bo.modifiable = false
end

-- Shows drawings with the program that the system has for them.
local function open(answer)
  for _, uri in ipairs(answer.files) do
    if vim.ui.open then
      vim.ui.open(vim.uri_to_fname(uri))
    else
      vim.fn.jobstart({ 'xdg-open', vim.uri_to_fname(uri) }, { detach = true })
    end
  end
end

vim.api.nvim_create_autocmd({ 'BufReadPost', 'BufNewFile' }, {
  pattern = { '*.ufh.yaml', 'house-standard.yaml' },
  callback = function(event)
    if vim.fn.executable(server.cmd[1]) == 0 then
      return vim.notify('hypocaust is not installed, or not where programs are looked for', vim.log.levels.WARN)
    end
    if vim.lsp.start then
      client = vim.lsp.start(server)
    else
      -- Neovim 0.7 has no `vim.lsp.start`, which shares one server among all designs.
      if not client or vim.lsp.client_is_stopped(client) then
        client = vim.lsp.start_client(server)
      end
      vim.lsp.buf_attach_client(event.buf, client)
    end
    if vim.lsp.inlay_hint then vim.lsp.inlay_hint.enable(true, { bufnr = event.buf }) end
    vim.bo[event.buf].omnifunc = 'v:lua.vim.lsp.omnifunc'

    -- Most of these keys are Neovim's own from 0.11 on.
    local keys = {
      K = vim.lsp.buf.hover,
      gra = vim.lsp.buf.code_action,
      grn = vim.lsp.buf.rename,
      grr = vim.lsp.buf.references,
      gd = vim.lsp.buf.definition,
      [']d'] = vim.diagnostic.goto_next,
      ['[d'] = vim.diagnostic.goto_prev,
    }
    for key, does in pairs(keys) do
      vim.keymap.set('n', key, function() does() end, { buffer = event.buf })
    end
    local command = vim.api.nvim_buf_create_user_command
    command(event.buf, 'FloorCheck', function() ask('hypocaust.check', {}, vim.notify) end, {})
    command(event.buf, 'FloorPlan', function() ask('hypocaust.openPlan', {}, open) end, {})
    command(event.buf, 'FloorSchedule', function() ask('hypocaust.schedule', { 'text' }, show) end, {})
    command(event.buf, 'FloorWorkings', function(of) ask('hypocaust.workings', { of.args }, show) end, { nargs = '?' })
  end,
})
