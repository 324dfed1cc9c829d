"""Sheets ready to cut: panels nested on the shop's stock, marked, in cutting order, with their time and cost."""
