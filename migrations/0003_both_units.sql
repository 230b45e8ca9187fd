-- Sentences are kept in both systems of units, so that lists and papers show either without asking the calculation again. Empty: said before this version;
-- open orders are then assessed anew at the next start, and where nothing fills it in, what was said stands as it was said.
ALTER TABLE finding ADD COLUMN says_us TEXT NOT NULL DEFAULT '';
ALTER TABLE finding ADD COLUMN do_next_us TEXT NOT NULL DEFAULT '';
ALTER TABLE concession ADD COLUMN says_us TEXT NOT NULL DEFAULT '';
ALTER TABLE concession_lapse ADD COLUMN why_us TEXT NOT NULL DEFAULT '';
ALTER TABLE sent_back ADD COLUMN says_us TEXT NOT NULL DEFAULT '';
