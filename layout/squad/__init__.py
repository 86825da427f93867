"""One runway for many: roster, sharing, set-out and its drawing, packs and batches."""
