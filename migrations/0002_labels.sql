-- Labels: the address that their QR codes lead to (empty: the one by which the page was asked for), and their sizes in millimetres.
ALTER TABLE shop ADD COLUMN server_address TEXT NOT NULL DEFAULT '' CHECK (server_address = '' OR server_address GLOB 'http://?*' OR server_address GLOB 'https://?*');
ALTER TABLE shop ADD COLUMN tag_width INTEGER NOT NULL DEFAULT 62 CHECK (tag_width BETWEEN 20 AND 300);
ALTER TABLE shop ADD COLUMN tag_height INTEGER NOT NULL DEFAULT 29 CHECK (tag_height BETWEEN 20 AND 300);
ALTER TABLE shop ADD COLUMN cylinder_width INTEGER NOT NULL DEFAULT 100 CHECK (cylinder_width BETWEEN 20 AND 300);
ALTER TABLE shop ADD COLUMN cylinder_height INTEGER NOT NULL DEFAULT 50 CHECK (cylinder_height BETWEEN 20 AND 300);
