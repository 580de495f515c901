-- Starts the hypocaust language server for every design (`*.ufh.yaml`).
-- `K` explains the finding under the cursor, `gra` offers what would put it right.

local server = { name = 'hypocaust', cmd = { 'hypocaust', 'language-server' } }
local client

vim.api.nvim_create_autocmd({ 'BufReadPost', 'BufNewFile' }, {
  pattern = '*.ufh.yaml',
  callback = function(event)
    if vim.fn.executable(server.cmd[1]) == 0 then
      return vim.notify('hypocaust is not installed, or not where programs are looked for', vim.log.levels.WARN)
    end
    if vim.lsp.start then
      vim.lsp.start(server)
    else
      -- Neovim 0.7 has no `vim.lsp.start`, which shares one server among all designs.
      if not client or vim.lsp.client_is_stopped(client) then
        client = vim.lsp.start_client(server)
      end
      vim.lsp.buf_attach_client(event.buf, client)
    end
    vim.keymap.set('n', 'K', vim.lsp.buf.hover, { buffer = event.buf })
    vim.keymap.set('n', 'gra', vim.lsp.buf.code_action, { buffer = event.buf })
  end,
})
