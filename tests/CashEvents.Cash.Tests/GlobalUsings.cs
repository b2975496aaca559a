global using CashEvents.Cash.Amounts;
global using CashEvents.Cash.Hosting;
global using CashEvents.Cash.Tests.Hosting;
global using CashEvents.Client;
global using CashEvents.Client.Models;
