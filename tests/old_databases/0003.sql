BEGIN TRANSACTION;
CREATE TABLE audit (
	id INTEGER NOT NULL, 
	at VARCHAR(32) NOT NULL, 
	"by" TEXT NOT NULL, 
	what TEXT NOT NULL, 
	record TEXT NOT NULL, 
	record_id INTEGER NOT NULL, 
	vehicle_id INTEGER, 
	"before" TEXT NOT NULL, 
	"after" TEXT NOT NULL, 
	change_id TEXT NOT NULL, chain TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_audit PRIMARY KEY (id)
);
INSERT INTO "audit" VALUES(1,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Vehicle',1,1,'','{"tag":"LR-001","description":"trail bike","kind":"petrol motorcycle","depot":"North","meter_unit":"km","duty":"off-road","model":"Marten 250","owner_contact":"personal:be45a88fa27827de971c6c9a661ffa7c93b9b8ee141a75618201126cd2c8d43e","in_service_since":"2023-04-01","notes":"ä \"quoted\" – ½\nsecond line","retired_on":"2026-04-30"}','4006b5bf05be4ad5a2aed67ea4d97c11','43699a131815776ea02730873fe75501882befa00f2a5ab1cc1a14e4e0eda474');
INSERT INTO "audit" VALUES(2,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Stage',1,1,'','{"vehicle_id":1,"order":2,"name":"final","drive":"chain","centre_distance_mm":612.5,"adjuster_range_mm":30.0,"span_mm":600.25,"rated_input_rpm":3000.0,"rated_power_kw":7.5,"wheel_circumference_mm":1985.0,"slack_definition":"lower run, middle, total, on the side stand"}','4006b5bf05be4ad5a2aed67ea4d97c11','8c7f9686e21c6d6292533690de0b2e3df85e27d3f263de29002d2f5caf9589d8');
INSERT INTO "audit" VALUES(3,'2026-05-03T14:10:05.250000+00:00','Robin','set up','PartType',1,NULL,'','{"kind":"chain","name":"428 sealed 126","designation":"428","wear_class":"sealed motorcycle chain","pitch_mm":12.7,"roller_diameter_mm":8.51,"inner_width_mm":7.75,"links":126,"joining_link":"rivet","teeth":15,"chain":"428","width_mm":17.3,"mass_kg_per_m":0.78,"lead_time_days":5,"price":61.9,"source":"ISO 606"}','4006b5bf05be4ad5a2aed67ea4d97c11','5403755aff1e3479cc44a9b64cf5774092beb6f1cc7ed36df9ef8dad5524e9bd');
INSERT INTO "audit" VALUES(4,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Part',1,NULL,'','{"part_type_id":1,"label":"C-118","lot":"2025-11","use_before":1200.0,"is_history_known":false,"cost":58.0,"notes":"used"}','4006b5bf05be4ad5a2aed67ea4d97c11','8087b4748b85de9884852451cee0700fe0e19544f0d42bc79717ada63651dde5');
INSERT INTO "audit" VALUES(5,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Installation',1,1,'','{"part_id":1,"vehicle_id":1,"stage_id":1,"position":"run","fitted_on":"2025-01-02","fitted_use":100.5,"removed_on":"2026-01-02","removed_use":9100.5,"removal_reason":"replaced early","links":124,"thread_lock":true,"cost":12.5,"notes":"two links out"}','4006b5bf05be4ad5a2aed67ea4d97c11','28774945b4d42ca3d041239007a4528fe62c41f7f54853ee68660b68ba640747');
INSERT INTO "audit" VALUES(6,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Visit',1,1,'','{"vehicle_id":1,"on":"2026-05-03","total_use":9000.0,"by":"Robin","tasks":[{"task":"set tension","stage_id":1,"before":41.0,"after":30.0,"quantity_unit":"mm","note":"","care":""},{"task":"clean","quantity_unit":"","note":"","care":"citrus cleaner"}],"notes":"wet","cost":20.0,"planned_number":"V-0041"}','4006b5bf05be4ad5a2aed67ea4d97c11','1972cbeb3c5b4dec16720e578dab6aad81e73e9ac1d3d541c434982b5321813e');
INSERT INTO "audit" VALUES(7,'2026-05-03T14:10:05.250000+00:00','Robin','set up','MeterEntry',1,1,'','{"vehicle_id":1,"on":"2026-05-03","value":3.0,"typed":"3 km","event":"replaced","old_value":8999.0,"visit_id":1,"by":"Robin","note":"face cracked"}','4006b5bf05be4ad5a2aed67ea4d97c11','8661a0ad84fe6d212c6d255c836fda0e417f8d2f7fc594bfeee6742256931895');
INSERT INTO "audit" VALUES(8,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Instrument',1,NULL,'','{"name":"gauge 2","kind":"two-prong gauge","resolution":0.0025,"u_instrument":0.0005,"bias":0.001,"stamps":[["0.5",0.005],["0.75",0.0075]],"calibration_due":"2027-01-01","notes":"blue","retired_on":"2028-01-01"}','4006b5bf05be4ad5a2aed67ea4d97c11','89a2da7303451e7e03f7ac27946f44dd9e7d62cd5b23603534189a857487f023');
INSERT INTO "audit" VALUES(9,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Reading',1,1,'','{"vehicle_id":1,"stage_id":1,"installation_id":1,"visit_id":1,"on":"2026-05-03","total_use":9000.0,"measurand":"chain elongation","method":"drop-in gauge","spots":[{"typed":"0.75 in","value":0.0075,"second":0.01,"resolution":0.0025},{"typed":"","value":"inf","resolution":0.0}],"low":0.0075,"high":"inf","u_value":0.0005,"mean":0.006,"spread":0.001,"pitches":12,"instrument_id":1,"temperature_degc":18.5,"load_n":125.0,"was_cleaned":false,"is_zero_reading":true,"definition":"two prongs","note":"third link tight","by":"Robin","is_late_entry":true}','4006b5bf05be4ad5a2aed67ea4d97c11','0e0d269c20a81f5bf59d8a9b780b0d65b7573932efa4732b258c8b3ceefabe6e');
INSERT INTO "audit" VALUES(10,'2026-05-03T14:10:05.250000+00:00','Robin','set up','IntervalRule',1,1,'','{"task":"lubricate","every_km":500.0,"every_h":25.0,"every_days":30,"first_km":100.0,"first_h":5.0,"first_days":7,"is_after_fitting":true,"vehicle_kind":"moped","vehicle_id":1,"stage_name":"final","drive":"chain","note":"after rain at once","source":"common practice"}','4006b5bf05be4ad5a2aed67ea4d97c11','451e4c17b818170c221838f681c3491a73b7cb874e53cba72160880669eaeab3');
INSERT INTO "audit" VALUES(11,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Limit',1,1,'','{"measurand":"chain elongation","wear_class":"sealed motorcycle chain","service_limit":0.02,"as_new":-0.001,"plan_share":0.7,"stop_use_limit":0.03,"designation":"428","model":"Marten 250","stage_name":"final","vehicle_id":1,"source":"workshop","note":"stricter off road"}','4006b5bf05be4ad5a2aed67ea4d97c11','3d9ee82d4d31b883a857662bd82e7c91cc1fc4937ec99ac87852f10220ae2673');
INSERT INTO "audit" VALUES(12,'2026-05-03T14:10:05.250000+00:00','Robin','set up','TorqueSheet',1,1,'','{"name":"Marten, torque","model":"Marten 250","vehicle_id":1,"note":"defer to the maker''s manual","source":"common practice, no source"}','4006b5bf05be4ad5a2aed67ea4d97c11','83a087718f9bc940200acd320081606c1d89b79f619c4b648c909d7b5d1c4cda');
INSERT INTO "audit" VALUES(13,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Fastener',1,NULL,'','{"torque_sheet_id":1,"order":3,"name":"rear sprocket","low_nm":28.0,"high_nm":32.5,"stage_name":"final","size":"M8 x 25","treatment":"thread-lock","bolts":6,"is_opposing":true,"recheck_km":75.0,"recheck_h":2.0,"source":"workshop","note":"marker line"}','4006b5bf05be4ad5a2aed67ea4d97c11','8377307fb8cc15c19eedd5305201ca2e33ca4d90125b1821eba45cd1c8ae1a5d');
INSERT INTO "audit" VALUES(14,'2026-05-03T14:10:05.250000+00:00','Robin','set up','TorqueRecord',1,1,'','{"vehicle_id":1,"fastener_id":1,"on":"2026-05-03","total_use":9000.0,"work":"re-checked","applied_nm":[30.0,30.5,30.0,29.5,30.0,31.0],"typed":"30 30.5 30 29.5 30 31","visit_id":1,"instrument_id":1,"by":"Robin","note":"no bolt moved"}','4006b5bf05be4ad5a2aed67ea4d97c11','fda55cbc18ca8f550b3c6bf43af75214b79085486375724bd37078ff1c8a9f95');
INSERT INTO "audit" VALUES(15,'2026-05-03T14:10:05.250000+00:00','Robin','set up','DutySpell',1,1,'','{"vehicle_id":1,"from_on":"2026-03-01","duty":"off-road","note":"wood rounds"}','4006b5bf05be4ad5a2aed67ea4d97c11','6ddae36da73def0817a236e616f07568541afd6c5768d547c86da507f28cd59c');
INSERT INTO "audit" VALUES(16,'2026-05-03T14:10:05.250000+00:00','Robin','set up','LayUp',1,1,'','{"vehicle_id":1,"from_on":"2025-11-20","until_on":"2026-02-01","reason":"snow"}','4006b5bf05be4ad5a2aed67ea4d97c11','e23fb5e58f8248ba378aa7f3910a7113a11b7c5faf7c27207092ad1a87115640');
INSERT INTO "audit" VALUES(17,'2026-05-03T14:10:05.250000+00:00','Robin','set up','StockLine',1,NULL,'','{"part_type_id":1,"depot":"North","on_hand":3,"lead_days":8,"price":59.5,"least":1,"spare_links":40,"joining_links":6,"note":"top shelf"}','4006b5bf05be4ad5a2aed67ea4d97c11','7e5e7ab74b0afb9668e97606e5a9fbb3d4be863a2c73eca2039f289d5f460d47');
INSERT INTO "audit" VALUES(18,'2026-05-03T14:10:05.250000+00:00','Robin','set up','PartOrder',1,NULL,'','{"part_type_id":1,"depot":"North","ordered_on":"2026-04-01","count":4,"expected_on":"2026-04-09","received_count":3,"closed_on":"2026-04-20","price":61.9,"note":"one came late"}','4006b5bf05be4ad5a2aed67ea4d97c11','44632fcd869f3120b060656b675a4db1cc5d655edf613775009df0413b455cd4');
INSERT INTO "audit" VALUES(19,'2026-05-03T14:10:05.250000+00:00','Robin','set up','StockMove',1,NULL,'','{"part_type_id":1,"depot":"North","on":"2026-05-03","count":-1,"kind":"used","visit_id":1,"installation_id":1,"order_id":1,"by":"Robin","note":"at the visit"}','4006b5bf05be4ad5a2aed67ea4d97c11','50080a4f94c86dacff89b890dbcc2f56cc256a9e5324b0d271cf4092d615855a');
INSERT INTO "audit" VALUES(20,'2026-05-03T14:10:05.250000+00:00','Robin','set up','PlannedVisit',1,1,'','{"number":"V-0041","vehicle_id":1,"depot":"North","on":"2026-05-03","state":"done","items":[{"work":"replace","stage_id":1,"installation_id":1,"part_type_id":1,"why":"at the limit in May","due_on":"2026-05-03","is_with":true},{"work":"clean","why":"","is_with":false}],"visit_id":1,"bay_minutes":45,"note":"bring the spare key"}','4006b5bf05be4ad5a2aed67ea4d97c11','3931f3761b5bb1aa88ca2bff3f17674e1dcd0034810ad70dde9290ea7024c006');
INSERT INTO "audit" VALUES(21,'2026-05-03T14:10:05.250000+00:00','Robin','set up','Setting',0,NULL,'','{"caution":"0.9"}','4006b5bf05be4ad5a2aed67ea4d97c11','50bb2777aa826dcf073b19df582b8af51082d9c84132346d002de8596410f320');
CREATE TABLE data_version (
	id INTEGER NOT NULL, 
	value INTEGER NOT NULL, 
	CONSTRAINT pk_data_version PRIMARY KEY (id)
);
INSERT INTO "data_version" VALUES(1,1);
CREATE TABLE draft (
	"key" TEXT NOT NULL, 
	text TEXT NOT NULL, 
	CONSTRAINT pk_draft PRIMARY KEY ("key")
);
INSERT INTO "draft" VALUES('sheet LR-001','{"length": "153."}');
CREATE TABLE duty_spell (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	from_on DATE NOT NULL, 
	duty TEXT NOT NULL, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_duty_spell PRIMARY KEY (id), 
	CONSTRAINT fk_duty_spell_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "duty_spell" VALUES(1,1,'2026-03-01','off-road','wood rounds','',1);
CREATE TABLE fastener (
	id INTEGER NOT NULL, 
	torque_sheet_id INTEGER NOT NULL, 
	"order" INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	low_nm DOUBLE NOT NULL, 
	high_nm DOUBLE NOT NULL, 
	stage_name TEXT NOT NULL, 
	size TEXT NOT NULL, 
	treatment TEXT NOT NULL, 
	bolts INTEGER NOT NULL, 
	is_opposing BOOLEAN NOT NULL, 
	recheck_km DOUBLE, 
	recheck_h DOUBLE, 
	source TEXT NOT NULL, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_fastener PRIMARY KEY (id), 
	CONSTRAINT fk_fastener_torque_sheet_id FOREIGN KEY(torque_sheet_id) REFERENCES torque_sheet (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "fastener" VALUES(1,1,3,'rear sprocket',28.0,32.5,'final','M8 x 25','thread-lock',6,1,75.0,2.0,'workshop','marker line','',1);
CREATE TABLE installation (
	id INTEGER NOT NULL, 
	part_id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	stage_id INTEGER NOT NULL, 
	position TEXT NOT NULL, 
	fitted_on DATE NOT NULL, 
	fitted_use DOUBLE NOT NULL, 
	removed_on DATE, 
	removed_use DOUBLE, 
	removal_reason TEXT, 
	links INTEGER, 
	thread_lock BOOLEAN, 
	cost DOUBLE, 
	notes TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_installation PRIMARY KEY (id), 
	CONSTRAINT fk_installation_part_id FOREIGN KEY(part_id) REFERENCES part (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_installation_stage_id FOREIGN KEY(stage_id) REFERENCES stage (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_installation_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "installation" VALUES(1,1,1,1,'run','2025-01-02',100.5,'2026-01-02',9100.5,'replaced early',124,1,12.5,'two links out','',1);
CREATE TABLE instrument (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	resolution DOUBLE NOT NULL, 
	u_instrument DOUBLE NOT NULL, 
	bias DOUBLE NOT NULL, 
	stamps TEXT NOT NULL, 
	calibration_due DATE, 
	notes TEXT NOT NULL, 
	retired_on DATE, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_instrument PRIMARY KEY (id), 
	CONSTRAINT uq_instrument_name UNIQUE (name)
);
INSERT INTO "instrument" VALUES(1,'gauge 2','two-prong gauge',0.0025,0.0005,0.001,'[["0.5",0.005],["0.75",0.0075]]','2027-01-01','blue','2028-01-01',1);
CREATE TABLE interval_rule (
	id INTEGER NOT NULL, 
	task TEXT NOT NULL, 
	every_km DOUBLE, 
	every_h DOUBLE, 
	every_days INTEGER, 
	first_km DOUBLE, 
	first_h DOUBLE, 
	first_days INTEGER, 
	is_after_fitting BOOLEAN NOT NULL, 
	vehicle_kind TEXT, 
	vehicle_id INTEGER, 
	stage_name TEXT NOT NULL, 
	drive TEXT, 
	note TEXT NOT NULL, 
	source TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_interval_rule PRIMARY KEY (id), 
	CONSTRAINT fk_interval_rule_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "interval_rule" VALUES(1,'lubricate',500.0,25.0,30,100.0,5.0,7,1,'moped',1,'final','chain','after rain at once','common practice','',1);
CREATE TABLE lay_up (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	from_on DATE NOT NULL, 
	until_on DATE, 
	reason TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_lay_up PRIMARY KEY (id), 
	CONSTRAINT fk_lay_up_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "lay_up" VALUES(1,1,'2025-11-20','2026-02-01','snow','',1);
CREATE TABLE meter_entry (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	"on" DATE NOT NULL, 
	value DOUBLE NOT NULL, 
	typed TEXT NOT NULL, 
	event TEXT NOT NULL, 
	old_value DOUBLE, 
	visit_id INTEGER, 
	"by" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_meter_entry PRIMARY KEY (id), 
	CONSTRAINT fk_meter_entry_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_meter_entry_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "meter_entry" VALUES(1,1,'2026-05-03',3.0,'3 km','replaced',8999.0,1,'Robin','face cracked','',1);
CREATE TABLE part (
	id INTEGER NOT NULL, 
	part_type_id INTEGER NOT NULL, 
	label TEXT NOT NULL, 
	lot TEXT NOT NULL, 
	use_before DOUBLE NOT NULL, 
	is_history_known BOOLEAN NOT NULL, 
	cost DOUBLE, 
	notes TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_part PRIMARY KEY (id), 
	CONSTRAINT fk_part_part_type_id FOREIGN KEY(part_type_id) REFERENCES part_type (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "part" VALUES(1,1,'C-118','2025-11',1200.0,0,58.0,'used',1);
CREATE TABLE part_order (
	id INTEGER NOT NULL, 
	part_type_id INTEGER NOT NULL, 
	depot TEXT NOT NULL, 
	ordered_on DATE NOT NULL, 
	count INTEGER NOT NULL, 
	expected_on DATE, 
	received_count INTEGER NOT NULL, 
	closed_on DATE, 
	price DOUBLE, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_part_order PRIMARY KEY (id), 
	CONSTRAINT fk_part_order_part_type_id FOREIGN KEY(part_type_id) REFERENCES part_type (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "part_order" VALUES(1,1,'North','2026-04-01',4,'2026-04-09',3,'2026-04-20',61.9,'one came late','',1);
CREATE TABLE part_type (
	id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	name TEXT NOT NULL, 
	designation TEXT NOT NULL, 
	wear_class TEXT NOT NULL, 
	pitch_mm DOUBLE NOT NULL, 
	roller_diameter_mm DOUBLE, 
	inner_width_mm DOUBLE, 
	links INTEGER, 
	joining_link TEXT NOT NULL, 
	teeth INTEGER, 
	chain TEXT NOT NULL, 
	width_mm DOUBLE, 
	mass_kg_per_m DOUBLE, 
	lead_time_days INTEGER NOT NULL, 
	price DOUBLE, 
	source TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_part_type PRIMARY KEY (id), 
	CONSTRAINT uq_part_type_name UNIQUE (name)
);
INSERT INTO "part_type" VALUES(1,'chain','428 sealed 126','428','sealed motorcycle chain',12.7,8.51,7.75,126,'rivet',15,'428',17.3,0.78,5,61.9,'ISO 606',1);
CREATE TABLE personal (
	digest TEXT NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	salt TEXT NOT NULL, 
	text TEXT NOT NULL, 
	CONSTRAINT pk_personal PRIMARY KEY (digest), 
	CONSTRAINT fk_personal_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "personal" VALUES('personal:be45a88fa27827de971c6c9a661ffa7c93b9b8ee141a75618201126cd2c8d43e',1,'d8ce7372a945bc3c0bc0d558968c1383','yard office');
CREATE TABLE planned_visit (
	id INTEGER NOT NULL, 
	number TEXT NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	depot TEXT NOT NULL, 
	"on" DATE NOT NULL, 
	state TEXT NOT NULL, 
	items TEXT NOT NULL, 
	visit_id INTEGER, 
	bay_minutes INTEGER, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_planned_visit PRIMARY KEY (id), 
	CONSTRAINT fk_planned_visit_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_planned_visit_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT uq_planned_visit_number UNIQUE (number)
);
INSERT INTO "planned_visit" VALUES(1,'V-0041',1,'North','2026-05-03','done','[{"work":"replace","stage_id":1,"installation_id":1,"part_type_id":1,"why":"at the limit in May","due_on":"2026-05-03","is_with":true},{"work":"clean","why":"","is_with":false}]',1,45,'bring the spare key','',1);
CREATE TABLE reading (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	stage_id INTEGER NOT NULL, 
	installation_id INTEGER, 
	visit_id INTEGER, 
	"on" DATE NOT NULL, 
	total_use DOUBLE NOT NULL, 
	measurand TEXT NOT NULL, 
	method TEXT NOT NULL, 
	spots TEXT NOT NULL, 
	value DOUBLE, 
	low DOUBLE, 
	high DOUBLE, 
	u_value DOUBLE NOT NULL, 
	mean DOUBLE, 
	spread DOUBLE, 
	pitches INTEGER, 
	instrument_id INTEGER, 
	temperature_degc DOUBLE, 
	load_n DOUBLE, 
	was_cleaned BOOLEAN, 
	is_zero_reading BOOLEAN NOT NULL, 
	definition TEXT NOT NULL, 
	note TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	is_late_entry BOOLEAN NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_reading PRIMARY KEY (id), 
	CONSTRAINT fk_reading_installation_id FOREIGN KEY(installation_id) REFERENCES installation (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_reading_instrument_id FOREIGN KEY(instrument_id) REFERENCES instrument (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_reading_stage_id FOREIGN KEY(stage_id) REFERENCES stage (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_reading_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_reading_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "reading" VALUES(1,1,1,1,1,'2026-05-03',9000.0,'chain elongation','drop-in gauge','[{"typed":"0.75 in","value":0.0075,"second":0.01,"resolution":0.0025},{"typed":"","value":"inf","resolution":0.0}]',NULL,0.0075,9.0e999,0.0005,0.006,0.001,12,1,18.5,125.0,0,1,'two prongs','third link tight','Robin',1,'',1);
CREATE TABLE row_key (
	"key" TEXT NOT NULL, 
	source TEXT NOT NULL, 
	change_id TEXT NOT NULL, 
	counts BOOLEAN NOT NULL, 
	CONSTRAINT pk_row_key PRIMARY KEY ("key")
);
INSERT INTO "row_key" VALUES('a1','readings.csv row 1','4006b5bf05be4ad5a2aed67ea4d97c11',1);
CREATE TABLE saved_key (
	"key" TEXT NOT NULL, 
	change_id TEXT NOT NULL, 
	at VARCHAR(32) NOT NULL, 
	CONSTRAINT pk_saved_key PRIMARY KEY ("key")
);
CREATE TABLE schema_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT schema_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "schema_version" VALUES('0003');
CREATE TABLE service_limit (
	id INTEGER NOT NULL, 
	measurand TEXT NOT NULL, 
	wear_class TEXT NOT NULL, 
	service_limit DOUBLE NOT NULL, 
	as_new DOUBLE NOT NULL, 
	plan_share DOUBLE NOT NULL, 
	stop_use_limit DOUBLE, 
	designation TEXT NOT NULL, 
	model TEXT NOT NULL, 
	stage_name TEXT NOT NULL, 
	vehicle_id INTEGER, 
	source TEXT NOT NULL, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_service_limit PRIMARY KEY (id), 
	CONSTRAINT fk_service_limit_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "service_limit" VALUES(1,'chain elongation','sealed motorcycle chain',0.02,-0.001,0.7,0.03,'428','Marten 250','final',1,'workshop','stricter off road','',1);
CREATE TABLE setting (
	name TEXT NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_setting PRIMARY KEY (name)
);
INSERT INTO "setting" VALUES('caution','0.9');
CREATE TABLE stage (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	"order" INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	drive TEXT NOT NULL, 
	centre_distance_mm DOUBLE, 
	adjuster_range_mm DOUBLE, 
	span_mm DOUBLE, 
	rated_input_rpm DOUBLE, 
	rated_power_kw DOUBLE, 
	wheel_circumference_mm DOUBLE, 
	slack_definition TEXT NOT NULL, 
	version INTEGER NOT NULL, void_reason TEXT DEFAULT '' NOT NULL, retired_on DATE, 
	CONSTRAINT pk_stage PRIMARY KEY (id), 
	CONSTRAINT fk_stage_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "stage" VALUES(1,1,2,'final','chain',612.5,30.0,600.25,3000.0,7.5,1985.0,'lower run, middle, total, on the side stand',1,'',NULL);
CREATE TABLE stock_line (
	id INTEGER NOT NULL, 
	part_type_id INTEGER NOT NULL, 
	depot TEXT NOT NULL, 
	on_hand INTEGER NOT NULL, 
	lead_days INTEGER, 
	price DOUBLE, 
	least INTEGER, 
	spare_links INTEGER NOT NULL, 
	joining_links INTEGER NOT NULL, 
	note TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_stock_line PRIMARY KEY (id), 
	CONSTRAINT fk_stock_line_part_type_id FOREIGN KEY(part_type_id) REFERENCES part_type (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT uq_stock_line_part_type_id_depot UNIQUE (part_type_id, depot)
);
INSERT INTO "stock_line" VALUES(1,1,'North',3,8,59.5,1,40,6,'top shelf',1);
CREATE TABLE stock_move (
	id INTEGER NOT NULL, 
	part_type_id INTEGER NOT NULL, 
	depot TEXT NOT NULL, 
	"on" DATE NOT NULL, 
	count INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	visit_id INTEGER, 
	installation_id INTEGER, 
	order_id INTEGER, 
	"by" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_stock_move PRIMARY KEY (id), 
	CONSTRAINT fk_stock_move_part_type_id FOREIGN KEY(part_type_id) REFERENCES part_type (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_stock_move_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_stock_move_installation_id FOREIGN KEY(installation_id) REFERENCES installation (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_stock_move_order_id FOREIGN KEY(order_id) REFERENCES part_order (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "stock_move" VALUES(1,1,'North','2026-05-03',-1,'used',1,1,1,'Robin','at the visit','',1);
CREATE TABLE stored_fit (
	family TEXT NOT NULL, 
	payload TEXT NOT NULL, 
	data_version INTEGER NOT NULL, 
	CONSTRAINT pk_stored_fit PRIMARY KEY (family)
);
INSERT INTO "stored_fit" VALUES('chains','{}',1);
CREATE TABLE torque_record (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	fastener_id INTEGER NOT NULL, 
	"on" DATE NOT NULL, 
	total_use DOUBLE NOT NULL, 
	work TEXT NOT NULL, 
	applied_nm TEXT NOT NULL, 
	typed TEXT NOT NULL, 
	visit_id INTEGER, 
	instrument_id INTEGER, 
	"by" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_torque_record PRIMARY KEY (id), 
	CONSTRAINT fk_torque_record_fastener_id FOREIGN KEY(fastener_id) REFERENCES fastener (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_torque_record_instrument_id FOREIGN KEY(instrument_id) REFERENCES instrument (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_torque_record_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT, 
	CONSTRAINT fk_torque_record_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "torque_record" VALUES(1,1,1,'2026-05-03',9000.0,'re-checked','[30.0,30.5,30.0,29.5,30.0,31.0]','30 30.5 30 29.5 30 31',1,1,'Robin','no bolt moved','',1);
CREATE TABLE torque_sheet (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	model TEXT NOT NULL, 
	vehicle_id INTEGER, 
	note TEXT NOT NULL, 
	source TEXT NOT NULL, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_torque_sheet PRIMARY KEY (id), 
	CONSTRAINT fk_torque_sheet_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "torque_sheet" VALUES(1,'Marten, torque','Marten 250',1,'defer to the maker''s manual','common practice, no source','',1);
CREATE TABLE vehicle (
	id INTEGER NOT NULL, 
	tag TEXT NOT NULL, 
	description TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	depot TEXT NOT NULL, 
	meter_unit TEXT NOT NULL, 
	duty TEXT NOT NULL, 
	model TEXT NOT NULL, 
	owner_contact TEXT NOT NULL, 
	in_service_since DATE, 
	notes TEXT NOT NULL, 
	retired_on DATE, 
	version INTEGER NOT NULL, retired_reason TEXT DEFAULT '' NOT NULL, void_reason TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_vehicle PRIMARY KEY (id), 
	CONSTRAINT uq_vehicle_tag UNIQUE (tag)
);
INSERT INTO "vehicle" VALUES(1,'LR-001','trail bike','petrol motorcycle','North','km','off-road','Marten 250','yard office','2023-04-01','ä "quoted" – ½
second line','2026-04-30',1,'','');
CREATE TABLE visit (
	id INTEGER NOT NULL, 
	vehicle_id INTEGER NOT NULL, 
	"on" DATE NOT NULL, 
	total_use DOUBLE NOT NULL, 
	"by" TEXT NOT NULL, 
	tasks TEXT NOT NULL, 
	notes TEXT NOT NULL, 
	cost DOUBLE, 
	void_reason TEXT NOT NULL, 
	version INTEGER NOT NULL, planned_number TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_visit PRIMARY KEY (id), 
	CONSTRAINT fk_visit_vehicle_id FOREIGN KEY(vehicle_id) REFERENCES vehicle (id) ON DELETE RESTRICT ON UPDATE RESTRICT
);
INSERT INTO "visit" VALUES(1,1,'2026-05-03',9000.0,'Robin','[{"task":"set tension","stage_id":1,"before":41.0,"after":30.0,"quantity_unit":"mm","note":"","care":""},{"task":"clean","quantity_unit":"","note":"","care":"citrus cleaner"}]','wet',20.0,'',1,'V-0041');
CREATE INDEX ix_audit_change_id ON audit (change_id);
CREATE INDEX ix_audit_record_record_id ON audit (record, record_id);
CREATE INDEX ix_audit_vehicle_id ON audit (vehicle_id);
CREATE INDEX ix_row_key_change_id ON row_key (change_id);
CREATE INDEX ix_part_part_type_id ON part (part_type_id);
CREATE UNIQUE INDEX uq_part_label ON part (label) WHERE label <> '';
CREATE INDEX ix_stage_vehicle_id ON stage (vehicle_id);
CREATE INDEX ix_visit_vehicle_id ON visit (vehicle_id);
CREATE INDEX ix_installation_part_id ON installation (part_id);
CREATE INDEX ix_installation_stage_id ON installation (stage_id);
CREATE INDEX ix_installation_vehicle_id ON installation (vehicle_id);
CREATE INDEX ix_meter_entry_vehicle_id_on ON meter_entry (vehicle_id, "on");
CREATE INDEX ix_meter_entry_visit_id ON meter_entry (visit_id);
CREATE INDEX ix_reading_installation_id ON reading (installation_id);
CREATE INDEX ix_reading_stage_id ON reading (stage_id);
CREATE INDEX ix_reading_vehicle_id ON reading (vehicle_id);
CREATE INDEX ix_reading_visit_id ON reading (visit_id);
CREATE INDEX ix_fastener_torque_sheet_id ON fastener (torque_sheet_id);
CREATE INDEX ix_torque_record_fastener_id ON torque_record (fastener_id);
CREATE INDEX ix_torque_record_vehicle_id ON torque_record (vehicle_id);
CREATE INDEX ix_torque_record_visit_id ON torque_record (visit_id);
CREATE INDEX ix_personal_vehicle_id ON personal (vehicle_id);
CREATE INDEX ix_duty_spell_vehicle_id ON duty_spell (vehicle_id);
CREATE INDEX ix_lay_up_vehicle_id ON lay_up (vehicle_id);
CREATE INDEX ix_part_order_part_type_id ON part_order (part_type_id);
CREATE INDEX ix_stock_move_part_type_id ON stock_move (part_type_id);
CREATE INDEX ix_stock_move_visit_id ON stock_move (visit_id);
CREATE INDEX ix_stock_move_order_id ON stock_move (order_id);
CREATE INDEX ix_planned_visit_vehicle_id ON planned_visit (vehicle_id);
CREATE INDEX ix_planned_visit_visit_id ON planned_visit (visit_id);
COMMIT;
