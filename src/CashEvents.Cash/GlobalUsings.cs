global using CashEvents.Cash.Amounts;
global using CashEvents.Cash.Hosting;
global using CashEvents.Cash.Naming;
global using CashEvents.Cash.Printing;
global using CashEvents.Cash.Writing;
global using CashEvents.Client;
global using CashEvents.Client.Models;
