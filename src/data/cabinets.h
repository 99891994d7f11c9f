/* cabinets.h - how warm the air in a cabinet becomes.
 *
 * Method of VDE 0660 part 500 as read on four public engineering pages: the area that gives off heat, by how the cabinet
 * stands, and dT = P / (k A).  It is made for closed sheet-steel cabinets; a home's may differ by some kelvin. */
#ifndef RT_DATA_CABINETS_H
#define RT_DATA_CABINETS_H

enum cabinet_place {
    CABINET_FREE,              /* air on all sides */
    CABINET_ON_WALL,           /* its back covered */
    CABINET_FREE_ROW_END,      /* a side covered */
    CABINET_WALL_ROW_END,      /* back and a side */
    CABINET_FREE_ROW_MIDDLE,   /* both sides */
    CABINET_WALL_ROW_MIDDLE,   /* back and both sides */
    CABINET_WALL_ROW_ROOF_OVER /* these and the top */
};

/* Painted sheet steel; W/(m2 K), read on five pages.  Of other materials the pages disagree. */
#define CABINET_STEEL_W_PER_M2_K 5.5

double cabinet_area_m2(enum cabinet_place place, double height_m, double width_m, double depth_m);
/* Warmth of the air inside over the room's.  flow_m3_per_h: air drawn through by a fan, which takes its share of the heat
 * (1.2 kg/m3, 1005 J/(kg K), air of 20 degC); 0: closed. */
double cabinet_rise_k(double heat_w, double area_m2, double k_w_per_m2_k, double flow_m3_per_h);
/* The same with slots of slot_m2 each at the foot and at the top, high_m apart, through which warm air rises by itself.
 * Source: stack effect, Q = Cd A sqrt(2 g h dT / T) with A = slot / sqrt 2 for two slots in a row, Cd 0.65, T 298 K inside; ASHRAE
 * Handbook Fundamentals, from memory. */
double cabinet_rise_vented_k(double heat_w, double area_m2, double k_w_per_m2_k, double slot_m2, double high_m);
/* The flow that keeps to a rise; 0 where the walls alone do. */
double cabinet_flow_m3_per_h(double heat_w, double area_m2, double k_w_per_m2_k, double rise_k);

#endif
